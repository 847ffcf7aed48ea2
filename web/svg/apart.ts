/** Places of labels in order, at least `distance` apart and as near to where they belong as that allows. */
export function apart(wanted: readonly number[], distance: number, least: number, most: number): number[] {
  const places = [...wanted];
  for (let k = 0; k < places.length; k++) places[k] = Math.max(places[k]!, k === 0 ? least : places[k - 1]! + distance);
  for (let k = places.length - 1; k >= 0; k--)
    places[k] = Math.min(places[k]!, k === places.length - 1 ? most : places[k + 1]! - distance);
  // Neighbours that were pushed down together move back up to their middle.
  for (let from = 0; from < places.length; ) {
    let to = from;
    while (to + 1 < places.length && places[to + 1]! - places[to]! <= distance + 1e-9) to++;
    const mean = (list: readonly number[]) => list.slice(from, to + 1).reduce((a, b) => a + b, 0) / (to - from + 1);
    const up = mean(places) - mean(wanted);
    const floor = from === 0 ? least : places[from - 1]! + distance;
    const by = Math.max(0, Math.min(up, places[from]! - floor));
    for (let k = from; k <= to; k++) places[k] = places[k]! - by;
    from = to + 1;
  }
  return places;
}
