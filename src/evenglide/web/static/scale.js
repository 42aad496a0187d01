// Where the nose is along the lane: on the line through two pegs whose places are known.

const CLICK_PX = 2;

/**
 * @param {{points: Record<string, {x: number, y: number, at: number}>, near: number, far: number, rate: number,
 *   released: number|null, after: number}} known
 * @returns {{ready: boolean, words: string, place: number, uncertainty: number}}
 */
export function placeAlong({ points, near, far, rate, released, after }) {
  const nothing = (/** @type {string} */ words) => ({ ready: false, words, place: NaN, uncertainty: NaN });
  if (!points.near || !points.far) return nothing("Mark the two pegs first.");
  if (!Number.isFinite(near) || !Number.isFinite(far) || near === far) return nothing("Say where the two pegs stand.");
  if (!points.nose) return nothing("Now the nose.");
  const along = { x: points.far.x - points.near.x, y: points.far.y - points.near.y };
  const length = Math.hypot(along.x, along.y);
  if (length < 10) return nothing("The two pegs are too close together in the picture.");
  const share = ((points.nose.x - points.near.x) * along.x + (points.nose.y - points.near.y) * along.y) / length ** 2;
  const place = near + share * (far - near), perPixel = Math.abs(far - near) / length;
  // Each peg's click moves the scale by its share of the way, the nose's click moves the nose.
  const clicks = CLICK_PX * perPixel * Math.sqrt(1 + share ** 2 + (1 - share) ** 2);
  let frame = 0, late = "";
  if (released !== null && Number.isFinite(after)) {
    const time = points.nose.at - released;
    // A glide that slows down evenly has at most twice its mean speed; half a frame of it is not seen.
    frame = (2 * Math.abs(place) / Math.max(time, 1 / rate)) * (0.5 / rate) / Math.sqrt(3);
    if (Math.abs(time - after) > 0.75 / rate) late = ` This frame is ${(time - after).toFixed(3)} s from the mark at ${after} s.`;
  }
  const uncertainty = Math.hypot(clicks, frame);
  return { ready: true, place, uncertainty, words: `${place.toFixed(3)}, give or take ${uncertainty.toFixed(3)}.${late}` };
}
