/** Questions asked of many runs. Text and numbers in, answers out: no disk, clock, process or network. */
export {
  CASE_OUTCOMES,
  type Campaign,
  type CampaignAnswer,
  type CampaignPlan,
  createCampaign,
  foldCampaign,
  planCampaign,
  requiredStrokes,
  rowWidth,
} from './campaign.ts';
export { draw } from './draw.ts';
export { createOutages, inService, type OutageAnswer, type Outages, type StrokeAnswer } from './outage.ts';
export { createSampler, REPLICATES, SAMPLINGS, type Sampling } from './sampling.ts';
export { followService, type Service } from './service.ts';
export { findTuning, type TuneAnswer, type TuneOptions } from './tune.ts';
export {
  type Corner,
  findWorst,
  type Moment,
  switchCorners,
  type WorstAnswer,
  type WorstOptions,
  worstOverrides,
} from './worst.ts';
