/**
 * Vessel geometry. "fluids" is the open-source library of that name (github.com/CalebBell/fluids, fluids/geometry.py
 * and tests/test_geometry.py), whose examples match D. Jones, Calculating Tank Volume.
 */
import { compileVesselTables, type Head, levelOf, surfaceOf, type Vessel, vessel } from '../../models/index.ts';
import { about, absolute, derived, figure, read, relative } from './check.ts';
import { gallon, inch } from './units.ts';

const lying = (head: Head): Vessel =>
  vessel({ orientation: 'horizontal', diameter_m: 108 * inch, straightLength_m: 156 * inch, head });
const upright = (head: Head): Vessel =>
  vessel({ orientation: 'vertical', diameter_m: 132 * inch, straightLength_m: 100 * inch, head });
const deepHead: Head = { kind: 'ellipsoidal', depth_m: 42 * inch };
const deepCap: Head = { kind: 'sphericalCap', depth_m: 42 * inch };
const cap: Head = { kind: 'sphericalCap', depth_m: 33 * inch };
const gallons = (v: Vessel, level_in: number) => v.volumeAt(level_in * inch) / gallon;
const fluids = (place: string) => read(`fluids, ${place}, after D. Jones, Calculating Tank Volume`);
const sphere = vessel({
  orientation: 'vertical',
  diameter_m: 1.4,
  straightLength_m: 0,
  head: { kind: 'hemispherical' },
});
const tabled = relative(1e-6, 'three decimals, and an interpolation good to 1e-8 of full scale');
const threeDecimals = absolute(5.1e-4, 'published to three decimals');

export const vesselChecks = about('vessel', [
  figure(
    'lying, 108 x 156 in, ellipsoidal heads of 42 in, level 36 in',
    'gal',
    2380.957,
    threeDecimals,
    fluids('V_horiz_ellipsoidal'),
    () => gallons(lying(deepHead), 36),
  ),
  figure('the same filled half', 'gal', 4203.696, threeDecimals, fluids('tests/test_geometry.py'), () =>
    gallons(lying(deepHead), 54),
  ),
  figure('the same full', 'gal', 8407.392, threeDecimals, fluids('tests/test_geometry.py'), () =>
    gallons(lying(deepHead), 108),
  ),
  figure(
    'lying, spherical caps of 42 in, level 36 in',
    'gal',
    2303.962,
    threeDecimals,
    fluids('V_horiz_spherical'),
    () => gallons(lying(deepCap), 36),
  ),
  figure(
    'lying, torispherical heads f 1, k 0.06, level 36 in',
    'gal',
    2028.627,
    threeDecimals,
    fluids('V_horiz_torispherical'),
    () => gallons(lying({ kind: 'torispherical' }), 36),
  ),
  figure(
    'upright, D 132 in, 24 in of oil in a 2:1 head',
    'gal',
    783.358,
    threeDecimals,
    fluids('V_vertical_ellipsoidal'),
    () => gallons(upright({ kind: 'ellipsoidal' }), 24),
  ),
  figure(
    'upright, 24 in of oil in a spherical cap of 33 in',
    'gal',
    583.602,
    threeDecimals,
    fluids('V_vertical_spherical'),
    () => gallons(upright(cap), 24),
  ),
  figure(
    'upright, 24 in, just over a torispherical head',
    'gal',
    904.069,
    threeDecimals,
    fluids('V_vertical_torispherical'),
    () => gallons(upright({ kind: 'torispherical' }), 24),
  ),
  figure(
    'depth of a torispherical head, D 96, f 0.9, k 0.2',
    '',
    25.68427,
    absolute(5.1e-6, 'published to five decimals'),
    fluids('a_torispherical'),
    () =>
      vessel({
        orientation: 'vertical',
        diameter_m: 96,
        straightLength_m: 0,
        head: { kind: 'torispherical', dishFactor: 0.9, knuckleFactor: 0.2 },
      }).height_m / 2,
  ),
  figure(
    'level of 0.5 m3, upright, flat ends, D 1.2 m',
    'm',
    0.442097,
    absolute(5.1e-7, 'published to six decimals'),
    fluids('TANK.h_from_V'),
    () =>
      vessel({ orientation: 'vertical', diameter_m: 1.2, straightLength_m: 5, head: { kind: 'flat' } }).levelAt(0.5),
  ),
  figure(
    '2380.957 gal in the first vessel by the table of the time loop, level',
    'in',
    36,
    tabled,
    fluids('V_horiz_ellipsoidal'),
    () => {
      const tables = compileVesselTables(lying(deepHead));
      return levelOf(tables, 2380.957 * gallon) / inch;
    },
  ),
  figure(
    'sphere of 1.4 m, 0.5 m of oil',
    'm3',
    0.418879020479,
    relative(1e-11, 'twelve digits'),
    derived('pi h^2 (3 R - h)/3'),
    () => sphere.volumeAt(0.5),
  ),
  figure('wall above it', 'm2', 3.95840674352, relative(1e-11, 'twelve digits'), derived('2 pi R (2 R - h)'), () =>
    sphere.surfaceAbove(0.5),
  ),
  figure('wall above it by the table of the time loop', 'm2', 3.95840674352, tabled, derived('2 pi R (2 R - h)'), () =>
    surfaceOf(compileVesselTables(sphere), 0.418879020479),
  ),
]);
