// Where the nose is along the lane: on the line through two pegs whose places are known.

const CLICK_PX = 2, SHORTEST_PX = 10, BESIDE = 0.1;

/**
 * @param {{points: Record<string, {x: number, y: number, at: number}>, near: number, far: number, rate: number,
 *   released: number|null, after: number, shrunk?: number, unit: string}} known
 *   Points in pixels of the clip, each with the time of its frame (s); places of the pegs; frames in a second; time of
 *   the release and of the mark after it (s); pixels of the clip in one of the screen; unit of the places.
 * @returns {{ready: boolean, words: string, place: number, uncertainty: number}}
 *   Uncertainty as a standard deviation.
 */
export function placeAlong({ points, near, far, rate, released, after, shrunk = 1, unit }) {
  const nothing = (/** @type {string} */ words) => ({ ready: false, words, place: NaN, uncertainty: NaN });
  if (!points.near || !points.far) return nothing("Mark the two pegs first.");
  if (!Number.isFinite(near) || !Number.isFinite(far) || near === far) return nothing("Say where the two pegs stand.");
  if (!points.nose) return nothing("Now the nose.");
  const along = { x: points.far.x - points.near.x, y: points.far.y - points.near.y };
  const length = Math.hypot(along.x, along.y);
  if (length < SHORTEST_PX) return nothing("The two pegs are too close together in the picture.");
  const from = { x: points.nose.x - points.near.x, y: points.nose.y - points.near.y };
  const share = (from.x * along.x + from.y * along.y) / length ** 2;
  const beside = Math.abs(from.x * along.y - from.y * along.x) / length;
  const place = near + share * (far - near), perPixel = Math.abs(far - near) / length;
  // Each peg's click moves the scale by its share of the way, the nose's click moves the nose.
  const clicks = CLICK_PX * Math.max(1, shrunk) * perPixel * Math.sqrt(1 + share ** 2 + (1 - share) ** 2);
  const told = [];
  let frames = 0;
  if (Number.isFinite(after)) {
    if (released === null) return nothing("Step to the release and say that it is there.");
    const time = points.nose.at - released;
    if (time <= 0) return nothing("The nose was marked before the release.");
    // What glides slows down: at the mark it is no faster than on average. Release and mark each lie within half a frame.
    frames = Math.abs(place) / time * (0.5 / rate) / Math.sqrt(3) * Math.SQRT2;
    if (Math.abs(time - after) > 0.75 / rate) told.push(`This frame is ${time.toFixed(3)} s after the release, the mark is at ${after} s.`);
  }
  if (share < 0 || share > 1) told.push("The nose is not between the pegs: the scale is less sure there.");
  if (beside > BESIDE * length) told.push(`The nose is ${beside.toFixed(0)} pixels beside the line through the pegs.`);
  const uncertainty = Math.hypot(clicks, frames);
  const withUnit = (/** @type {number} */ value) => `${value.toFixed(3)}\u00a0${unit}`;
  return { ready: true, place, uncertainty, words: [`${withUnit(place)}, give or take ${withUnit(uncertainty)}.`, ...told].join(" ") };
}
