// Warmth of a point at any moment: the closed form of docs/use/heat.md, evaluated directly. Nothing
// is carried from one moment to the next, so moments may be asked for in any order.
import { inFrame, passingRun, rowsBetween, visitsAt } from './beam.mjs';

const ROOT_TWO_PI = Math.sqrt(2 * Math.PI);
const NORMAL_STEPS = 512, NORMAL_END = 6;

// Normal distribution by Simpson's rule from −6 on, at steps of 1/512
const NORMAL = (() => {
  const values = new Float64Array(2 * NORMAL_END * NORMAL_STEPS + 2);
  const bell = (z) => Math.exp(-z * z / 2) / ROOT_TWO_PI, h = 1 / NORMAL_STEPS;
  for (let i = 1; i < values.length; i++) {
    const z = -NORMAL_END + (i - 1) * h;
    values[i] = values[i - 1] + (h / 6) * (bell(z) + 4 * bell(z + h / 2) + bell(z + h));
  }
  return values;
})();

// Share of a normal distribution below z, to 1e-6
export function normal(z) {
  if (z <= -NORMAL_END) return 0;
  if (z >= NORMAL_END) return 1;
  const place = (z + NORMAL_END) * NORMAL_STEPS, low = place | 0;
  return NORMAL[low] + (NORMAL[low + 1] - NORMAL[low]) * (place - low);
}

// Constants from head.heat. `depth(solid, age)` is the share of areal energy that is felt at the
// surface, per mm: a table over the logarithm of the age.
export function medium(heat) {
  const tables = heat.solids.map((one) => Float64Array.from(one)), last = tables[0].length - 1;
  const start = Math.log(heat.ages[0]), scale = last / (Math.log(heat.ages[1]) - start);
  return {
    ...heat,
    gain: 2 * heat.alpha,
    depth(solid, age) {
      const place = Math.min(Math.max((Math.log(age) - start) * scale, 0), last - 1e-9), low = place | 0;
      const table = tables[solid];
      return table[low] + (table[low + 1] - table[low]) * (place - low);
    },
  };
}

// The part that a point lies on, from 1 on; beside all of them the nearest one
export function partAt(S, x, y) {
  if (S.parts.length < 2) return 1;
  const inside = S.parts.findIndex((rings) => within(rings, x, y));
  if (inside >= 0) return inside + 1;
  const away = S.parts.map((rings) => beside(rings, x, y));
  return away.indexOf(Math.min(...away)) + 1;
}

function within(rings, x, y) {
  let odd = false;
  for (const ring of rings) {
    for (let i = 2; i < ring.length; i += 2) {
      const [x0, y0, x1, y1] = ring.slice(i - 2, i + 2);
      if ((y0 > y) !== (y1 > y) && x < x0 + ((y - y0) / (y1 - y0)) * (x1 - x0)) odd = !odd;
    }
  }
  return odd;
}

function beside(rings, x, y) {
  let least = Infinity;
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) least = Math.min(least, Math.hypot(ring[i] - x, ring[i + 1] - y));
  }
  return least;
}

// What one run adds at a point u along and dv across, `age` after the beam was there: K mm² per
// J/mm. Younger than the lag, the row counts as when it is hottest; a while later too, as the real
// beam has then only just passed, and local time would exceed that peak.
function felt(S, M, i, own, solid, age, u, dv) {
  const at = (old) => {
    const wide = M.beam + M.gain * old, across = wide + M.smooth, deviation = Math.sqrt(wide);
    const share = normal((u - S.p[i]) / deviation) - normal((u - S.q[i]) / deviation);
    return share * M.depth(solid, old) / Math.sqrt(across) * Math.exp(-dv * dv / (2 * across));
  };
  const [lag, factor] = own;
  if (age <= lag) return at(lag) * factor;
  return age < 8 * lag ? Math.min(at(age), at(lag) * factor) : at(age);
}

const REACH = 5.5;
const NODES = 17;

// Warmth of a point of the page at some moments (ascending), in the index of the layer there
export function warmthAt(S, M, x, y, times) {
  const out = rises(S, M, x, y, times), scale = scaleAt(S, M, x, y);
  return out.map((kelvin) => kelvin * scale);
}

// The same in K. What is old is computed at a few moments, and straight between them.
export function rises(S, M, x, y, times) {
  const out = new Float64Array(times.length), nodes = new Float64Array(NODES);
  if (!times.length) return out;
  const first = times[0], end = times.at(-1), apart = (end - first) / (NODES - 1);
  const part = partAt(S, x, y), solid = S.solidOf[part - 1] ?? 0;
  const few = times.length > NODES;
  for (const visit of S.visits) {
    if (visit.begins > end) break;
    if (!visit.energy || (visit.part > 0 && visit.part !== part)) continue;
    const [u, v] = inFrame(visit, x, y);
    const reach = REACH * Math.sqrt(M.beam + M.smooth + M.gain * (end - visit.begins));
    if (u < visit.left - reach || u > visit.right + reach) continue;
    if (v < visit.top - reach || v > visit.bottom + reach) continue;
    const [low, high] = rowsBetween(S, visit, v - reach, v + reach);
    for (let r = low; r < high && S.t[r] <= end; r++) {
      for (let i = S.first[r]; i < S.first[r + 1]; i++) {
        if (S.part[i] !== part || u < S.p[i] - reach || u > S.q[i] + reach) continue;
        const at = passingRun(S, i, u), energy = visit.energy * S.light[i];
        const add = (time) => energy * felt(S, M, i, visit.own[solid], solid, time - at, u, S.v[r] - v);
        if (few && first - at > 10 * apart) {
          for (let k = 0; k < NODES; k++) nodes[k] += add(first + apart * k);
        } else {
          for (let k = times.length - 1; k >= 0 && times[k] >= at; k--) out[k] += add(times[k]);
        }
      }
    }
  }
  const strength = M.strength / ROOT_TWO_PI;
  for (let k = 0; k < times.length; k++) {
    const place = apart > 0 ? (times[k] - first) / apart : 0, low = Math.min(place | 0, NODES - 2);
    out[k] = strength * (out[k] + nodes[low] + (nodes[low + 1] - nodes[low]) * (place - low));
  }
  return out;
}

// Within so many deviations a row that passes may make a point hottest: as in Python's solver
const PEAK_WINDOW = 4.5;

function nearPasses(S, M, x, y) {
  const part = partAt(S, x, y), within = PEAK_WINDOW * Math.sqrt(M.beam + M.smooth);
  return visitsAt(S, x, y, within).filter((one) => one.part === part);
}

// Passes whose row the point belongs to
function owned(S, passes) {
  return passes.filter((one) => one.lit && Math.abs(one.dy) <= 0.75 * S.visits[one.visit].pitch);
}

// Index of 1 K at a point: that of the layer that lies there; of several the largest
export function scaleAt(S, M, x, y) {
  const passes = nearPasses(S, M, x, y), mine = owned(S, passes);
  const scales = (mine.length ? mine : passes).map((one) => S.visits[one.visit].scale);
  return scales.length ? Math.max(...scales) : M.scale;
}

// The hottest that a point gets, when, and on which row: {index, t, row}. It is sought as the beam
// passes nearby, from the visit on that marks the point. Where several mark it, the largest counts.
export function peakAt(S, M, x, y) {
  const passes = nearPasses(S, M, x, y), solid = S.solidOf[partAt(S, x, y) - 1] ?? 0;
  const mine = owned(S, passes), marks = new Map();
  for (const one of mine.length ? mine : passes) if (!marks.has(one.visit)) marks.set(one.visit, S.visits[one.visit]);
  const moments = passes.filter((one) => S.visits[one.visit].own.length)
    .map((one) => ({ ...one, t: one.t + S.visits[one.visit].own[solid][0] })).sort((a, b) => a.t - b.t);
  const kelvin = rises(S, M, x, y, moments.map((one) => one.t));
  let best = { index: 0, t: moments[0]?.t ?? 0, row: moments[0]?.row ?? -1 };
  for (const [number, visit] of marks) {
    moments.forEach((one, k) => {
      const index = kelvin[k] * visit.scale;
      const counts = one.visit >= number && S.visits[one.visit].angle === visit.angle;
      if (counts && index > best.index) best = { index, t: one.t, row: one.row };
    });
  }
  return best;
}
