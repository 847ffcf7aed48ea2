/** A worker of `campaign`: takes the plan, then numbers of blocks, and gives back the rows of their cases. */
import { parentPort } from 'node:worker_threads';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { type CampaignPlan, createCampaign } from '../studies/campaign.ts';

export interface CampaignWork {
  readonly values: ScenarioValues;
  readonly plan: CampaignPlan;
  /** Cases in a block. */
  readonly block: number;
}

parentPort?.once('message', ({ values, plan, block: size }: CampaignWork) => {
  const campaign = createCampaign(values, plan);
  parentPort?.on('message', (block: number) => {
    const first = block * size;
    const count = Math.min(size, plan.runs - first);
    const rows = new Float64Array(count * campaign.width);
    for (let k = 0; k < count; k++) campaign.run(first + k, rows, k * campaign.width);
    // Copied, not handed over: once an array has been, V8 asks at every access to any array whether that one has.
    parentPort?.postMessage({ block, rows });
  });
});
