// Corners of a ring moved, added and taken away, as changes of the written document.
import { add, carried, cross, left, middle, sub, writtenAt } from "./plane.js";

/** Return a ring with a corner moved, arcs that begin or end there carried along.
 *  @returns {{corners: object[], touched: number[]}} and which entries are not as they were */
export function movedRing(corners, k, xy) {
  const count = corners.length;
  const next = corners.map((each) => ({ ...each }));
  const touched = new Set([k]);
  next[k].xy = xy;
  // A ring may be closed by its first corner, written once more.
  const twin = corners[count - 1].closing ? { 0: count - 1, [count - 1]: 0 }[k] : undefined;
  if (twin !== undefined) {
    next[twin].xy = xy;
    touched.add(twin);
  }
  for (const [j, { through, xy: to }] of corners.entries()) {
    const before = (j - 1 + count) % count;
    if (!through || !(touched.has(j) || touched.has(before))) continue;
    next[j].through = carried(through, corners[before].xy, to, next[before].xy, next[j].xy);
    touched.add(j);
  }
  return { corners: next, touched: [...touched] };
}

/** Return an entry of an outline as it is written in the file. */
export function entry(corner, of, touched) {
  if (!touched) return corner.written;
  if (!corner.through) return writtenAt(corner.xy, of);
  return { arc: [writtenAt(corner.through, of), writtenAt(corner.xy, of)] };
}

/** Return the change that moves a corner: of its own entry, or of the ring where arcs go along. */
export function moving(ring, k, xy, of) {
  const { corners, touched } = movedRing(ring.corners, k, xy);
  if (touched.length === 1) return { at: ring.corners[k].at, to: entry(corners[k], of, true) };
  return whole(ring, corners, touched, of);
}

/** Return what is moved along with a corner: what holds the finish there. */
export function along(corner, to) {
  return corner.held ? { also: [{ do: "set", at: `${corner.held.at}/at`, to }] } : {};
}

/** Return the change that writes a corner's place as it was typed, in the person's own words. */
export function typed(ring, k, to) {
  const corner = ring.corners[k];
  const given = corner.through ? { arc: [corner.written.arc[0], to] } : to;
  return { at: corner.at, to: given, ...along(corner, to) };
}

function whole(ring, corners, touched, of) {
  return { at: ring.at, to: corners.map((each, k) => entry(each, of, touched.includes(k))) };
}

/** Return the change that adds a corner on the edge that ends at a corner. */
export function adding(ring, k, xy, of) {
  const to = ring.corners.map((each) => each.written);
  to.splice(k, 0, writtenAt(xy, of));
  return { at: ring.at, to };
}

/** Return the change that takes a corner away; null where three are left. */
export function removing(ring, k) {
  const corners = ring.corners.filter((each) => !each.closing);
  if (corners.length <= 3) return null;
  const count = ring.corners.length;
  const after = ring.corners[(k + 1) % count];
  const to = ring.corners.map((each) => each.written);
  // An arc that begins there has lost its beginning: it goes straight.
  if (after.through) to[(k + 1) % count] = after.written.arc[1];
  to.splice(k, 1);
  return { at: ring.at, to };
}

/** Return the change that makes the edge that ends at a corner round, or straight again. */
export function rounding(ring, k, of) {
  const corner = ring.corners[k];
  if (corner.through) return { at: corner.at, to: corner.written.arc[1] };
  const from = ring.corners.at(k - 1).xy;
  const chord = sub(corner.xy, from);
  const around = ring.corners.reduce((sum, each, j) => sum + cross(ring.corners.at(j - 1).xy, each.xy), 0);
  // Out of the paving by a sixth of the chord: a flat bow, to be drawn further by its middle.
  const out = left(chord).map((each) => -each * Math.sign(around));
  const through = add(middle(from, corner.xy), out, 1 / 6);
  return { at: corner.at, to: { arc: [writtenAt(through, of), corner.written] } };
}

/** Return the change that draws the middle of a round edge to a place. */
export function bending(ring, k, through, of) {
  const corner = ring.corners[k];
  return { at: corner.at, to: { arc: [writtenAt(through, of), corner.written.arc[1]] } };
}
