/** What runs in a report: the time plots. Without it the report is whole, with still drawings in their place. */
import { createPlots } from '../plot/plots.ts';

const text = document.getElementById('plot-data')?.textContent;
const place = document.getElementById('plots');
if (text != null && place !== null) {
  document.documentElement.classList.add('live');
  createPlots(place, JSON.parse(text));
}
