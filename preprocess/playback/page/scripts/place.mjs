// What happens at one place, on one side. Numbers and curve come from the exact point function,
// not from the grid that the pictures glow on.

import { visitsAt } from '../../scripts/beam.mjs';
import { peakAt, warmthAt } from '../../scripts/heat.mjs';

const NEAR = 0.4, BESIDE = 0.08;        // mm to the cell that is meant, and beyond the nearest
const WITHIN = 0.5;                     // mm across the rows that are told to pass the place
const SAMPLES = 600;                    // evenly spread moments of a curve

// The story of a place, or null where nothing is engraved near it.
export function storyOf(job, medium, point, together) {
  const cell = cellAt(job.cells, point);
  if (cell < 0) return null;
  const at = [job.cells.x[cell], job.cells.y[cell]], peak = peakAt(job, medium, ...at);
  const row = job.cells.row[cell], back = returnAfter(job, row);
  const near = visitsAt(job, ...at, WITHIN);
  const [from, to] = together ? [peak.t - 0.6, peak.t + 1] : spell(near, peak.t, back || 0.1);
  const times = momentsOf(near, from, to);
  return {
    at, row, back, from, to, times,
    index: peak.index,
    t: peak.t,
    length: job.b[row] - job.a[row],
    passes: near.filter((one) => one.t >= from && one.t <= to).length,
    warm: warmthAt(job, medium, ...at, times),
  };
}

// The hottest of the cells that lie as near as any: where shapes overlap, all of them count.
function cellAt(cells, [x, y]) {
  const away = Float32Array.from(cells.x, (cx, k) => (cx - x) ** 2 + (cells.y[k] - y) ** 2);
  const least = Math.sqrt(away.reduce((a, b) => Math.min(a, b), NEAR ** 2));
  const close = Math.min(NEAR, least + BESIDE) ** 2;
  let found = -1;
  away.forEach((one, k) => {
    if (one <= close && (found < 0 || cells.v[k] > cells.v[found])) found = k;
  });
  return found;
}

// Seconds until the beam is in the neighbouring row of the same sweep.
export function returnAfter(job, row) {
  const mine = (other) => other >= 0 && other < job.rows && job.visit[other] === job.visit[row];
  const next = [row + 1, row - 1].find(mine);
  return next === undefined ? NaN : Math.abs(job.t[next] - job.t[row]);
}

// From the first of the passes that make the peak, until most of it has gone.
function spell(near, peak, back) {
  const before = near.filter((one) => peak - one.t < Math.min(12 * back, 2) && one.t <= peak);
  const first = before.length ? before[0].t : peak;
  return [first - 1.5 * back, peak + 9 * back];
}

// Evenly spread, and just before and after each pass: there the warmth leaps.
function momentsOf(near, from, to) {
  const times = [];
  for (let k = 0; k <= SAMPLES; k++) times.push(from + (to - from) * k / SAMPLES);
  for (const one of near) {
    if (one.t > from && one.t < to) times.push(one.t - 1e-6, one.t + 1e-6, one.t + 2e-3);
  }
  return times.filter((t) => t <= to).sort((a, b) => a - b);
}
