/** The style sheet of the time plots. Names of classes that begin with "u-" are those of uPlot. */
export const PLOT_STYLE = `
.plots { --paper: #fff; --ink: #1d2530; --soft: #586273; --rule: #dfe3e8; --wash: #f4f5f7; --care: #a2391b;
  --line-1: #1f4e8c; --line-2: #8a5a00; --line-3: #0b716b; --line-4: #743a7d; --line-5: #a2391b; --line-6: #4d5866;
  color: var(--ink); font: 13px/1.35 system-ui, sans-serif; }
@media (prefers-color-scheme: dark) {
  .plots { --paper: #15191f; --ink: #e8ebef; --soft: #a3adba; --rule: #323a45; --wash: #1d232b; --care: #f0916f;
    --line-1: #8ab4f0; --line-2: #dcb35c; --line-3: #63cdc2; --line-4: #d09bd8; --line-5: #f0916f; --line-6: #b6c0cc; }
}
.plots-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding: 6px 0; position: sticky; top: 0;
  background: var(--paper); z-index: 2; border-bottom: 1px solid var(--rule); }
.plots-now { min-width: 9em; font-weight: 600; font-variant-numeric: tabular-nums; margin-right: auto; }
.plots button { font: inherit; color: inherit; background: var(--paper); border: 1px solid var(--soft); border-radius: 4px;
  padding: 3px 9px; min-height: 28px; cursor: pointer; }
.plots button:hover { background: var(--wash); }
.plots button[aria-pressed="true"] { background: var(--ink); color: var(--paper); }
.plots :focus-visible { outline: 3px solid var(--line-1); outline-offset: 2px; }
.plots-body { display: grid; grid-template-columns: minmax(0, 1fr) minmax(240px, 300px); gap: 20px; align-items: start; }
.plots-body.narrow { display: block; }
.plots-stack { min-width: 0; }
.plot { margin: 10px 0 0; }
.plot-head { display: flex; flex-wrap: wrap; gap: 2px 14px; align-items: baseline; }
.plot-title { font-size: 13px; font-weight: 600; margin: 0; }
.plot-key { display: contents; list-style: none; }
.plot-key li { display: inline-flex; gap: 5px; align-items: center; color: var(--soft); white-space: nowrap; }
.plot-key b { color: var(--ink); font-weight: 600; font-variant-numeric: tabular-nums; }
.plot-key svg { flex: none; }
.plot-beyond { margin: 0; color: var(--soft); font-size: 12px; }
.plot-canvas { touch-action: pan-y; }
.plots-log { position: sticky; top: 44px; }
.plots-log h3 { font-size: 13px; margin: 12px 0 4px; }
.plots-log ol { list-style: none; margin: 0; padding: 0; max-height: min(70vh, 640px); overflow-y: auto; border-top: 1px solid var(--rule); }
.narrow .plots-log { position: static; }
.narrow .plots-log ol { max-height: 300px; }
.plots-log li { border-bottom: 1px solid var(--rule); }
.plots-log button { display: grid; grid-template-columns: minmax(5.6em, max-content) 1fr; gap: 0 8px; width: 100%; text-align: left; border: 0;
  border-radius: 0; padding: 4px 4px; font-size: 12px; }
.plots-log time { white-space: nowrap; font-variant-numeric: tabular-nums; color: var(--soft); text-align: right; }
.plots-log .care { font-weight: 700; }
.plots-log li[aria-current="true"] button { background: var(--wash); box-shadow: inset 3px 0 0 var(--ink); }
.plots-log p { margin: 6px 0; color: var(--soft); font-size: 12px; }
.plots details { margin: 12px 0; }
.plots-table { overflow-x: auto; }
.plots table { border-collapse: collapse; font-size: 12px; font-variant-numeric: tabular-nums; }
.plots th, .plots td { padding: 2px 8px; border-bottom: 1px solid var(--rule); text-align: right; white-space: nowrap; }
.plots-help { color: var(--soft); font-size: 12px; margin: 8px 0 0; }
.plots-said { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.uplot, .uplot *, .uplot *::before, .uplot *::after { box-sizing: border-box; }
.uplot { width: min-content; }
.uplot canvas { display: block; position: relative; width: 100%; height: 100%; }
.u-wrap { position: relative; user-select: none; }
.u-over, .u-under, .u-axis { position: absolute; }
.u-under { overflow: hidden; }
.u-over { touch-action: pan-y; cursor: crosshair; }
.u-select { background: var(--soft); opacity: .25; position: absolute; pointer-events: none; }
.u-cursor-x, .u-cursor-y { position: absolute; left: 0; top: 0; pointer-events: none; will-change: transform; }
.u-hz .u-cursor-x { height: 100%; border-right: 1px solid var(--ink); }
.u-hz .u-cursor-y { width: 100%; border-bottom: 1px dashed var(--soft); }
.u-cursor-pt { position: absolute; top: 0; left: 0; border-radius: 50%; border: 0 solid; pointer-events: none;
  will-change: transform; background-clip: padding-box !important; }
.u-axis.u-off, .u-select.u-off, .u-cursor-x.u-off, .u-cursor-y.u-off, .u-cursor-pt.u-off { display: none; }
@media (forced-colors: active) { .plots button { border-color: ButtonText; } }
@media print { .plots { display: none; } }
`;
