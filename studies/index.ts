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
export { FAULT_SIZES, faultText, modeText, singleFaults } from './faultList.ts';
export {
  type Consequence,
  examineFaults,
  examinePairs,
  examineSingles,
  type FaultAnswer,
  type FaultStudy,
  type FaultsAnswer,
  type FaultsOptions,
  faultOverrides,
  faultStudy,
  INTERVAL_s,
  pairsOf,
  REPAIR_s,
} from './faults.ts';
export { createOutages, inService, type OutageAnswer, type Outages, type StrokeAnswer } from './outage.ts';
export { createSampler, REPLICATES, SAMPLINGS, type Sampling } from './sampling.ts';
export { followService, type Service } from './service.ts';
export {
  closedPressure,
  closedTank,
  type Demand,
  demandOf,
  type Filling,
  findSize,
  METHODS,
  type Method,
  type SizeAnswer,
  type SizeOptions,
  withTank,
} from './size.ts';
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
