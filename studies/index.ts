/** Questions asked of many runs. Text and numbers in, answers out: no disk, clock, process or network. */
export { createOutages, inService, type OutageAnswer, type Outages, type StrokeAnswer } from './outage.ts';
export { followService, type Service } from './service.ts';
export { type Corner, findWorst, type Moment, type WorstAnswer, type WorstOptions, worstOverrides } from './worst.ts';
