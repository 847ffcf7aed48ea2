/** What is not known of a unit: numbers of its file that are drawn again for every run of a campaign. */
import { choice, group, list, number, text } from './parameters.ts';

export const DISTRIBUTIONS = ['normal', 'uniform', 'triangular', 'lognormal', 'discrete'] as const;

const ofPath = 'in the unit of the path, or as "+5 %" of the value in the file';

export const uncertainGroup = group(
  {
    path: text({
      meaning:
        'What is not known: a number of this file by its path, items of lists by tag; or "moment": when the mains are ' +
        'lost; "switches": where each switch with a stated accuracy trips; "readings": pressure and level at the start',
      example: 'start.pressure',
    }),
    distribution: choice(DISTRIBUTIONS, {
      meaning: 'How it is spread; normal and lognormal ones are cut off at the limits of the key',
      default: 'uniform',
    }),
    mean: text({
      meaning: 'Of a normal distribution; the value in the file when left out',
      optional: true,
      example: '138 psig',
    }),
    deviation: text({
      meaning: 'Standard deviation of a normal distribution; a difference, or "5 %" of the mean',
      optional: true,
      example: '1 psi',
    }),
    from: text({ meaning: `Least value, ${ofPath}`, optional: true, example: '-10 %' }),
    likely: text({
      meaning: `Likeliest value of a triangular distribution, ${ofPath}; the value in the file when left out`,
      optional: true,
      example: '280 lbf',
    }),
    to: text({ meaning: `Greatest value, ${ofPath}`, optional: true, example: '+25 %' }),
    median: text({
      meaning: 'Of a lognormal distribution; the value in the file when left out',
      optional: true,
      example: '5 gal/h',
    }),
    factor: number({
      meaning: 'Of a lognormal distribution: two thirds of the values lie between median / factor and median x factor',
      above: 1,
      max: 1000,
      optional: true,
      example: '1.5',
    }),
    values: list(
      group(
        {
          value: text({ meaning: `The value, ${ofPath}`, example: '118 psig' }),
          weight: number({
            meaning: 'How often, beside the weights of the others',
            above: 0,
            default: 1,
            example: '3',
          }),
        },
        { meaning: 'One value' },
      ),
      { meaning: 'The values of a discrete distribution', optional: true, minItems: 1, maxItems: 1000 },
    ),
  },
  { meaning: 'Something that is not known' },
);
