// The glow of a picture: warmth on a grid. Young runs are drawn one by one; what is older is summed
// up by slabs of time on a coarse grid. It is for the eye only: figures come from heat.mjs.
import { lowest } from './beam.mjs';
import { normal } from './heat.mjs';

const COARSE = 0.5, SLAB = 0.5, YOUNG = 1.5;

// Grids of 0.5, 1, 2 and 4 mm: the older a slab, the wider it has spread
const GRIDS = 4;

// Share of a cell's square that depositing, cells and reading between them add to the spread
const GRID_SPREAD = 1 / 6 + 1 / 12 + 1 / 6;

const FADE = 3.4;
const LONGEST_PIECE = 0.8;

// What is old, over a box of the whole job [left, top, right, bottom]: one for all pictures of a
// side. `at(time)` gives {coarse, from}: the warmth of all before `from`, kept for one moment.
export function past(S, M, box) {
  const grids = Array.from({ length: GRIDS }, (_, n) => coarseGrid(box, COARSE * 2 ** n));
  const solids = M.solids.map((_, solid) => levelsOf(baseSlabs(S, M, grids[0], solid)));
  const found = { ...grids[0], from: 0, time: -1 };
  const spreads = grids.map((grid) => spreader(grid, M));
  found.at = (time) => {
    if (found.time === time) return found;
    found.time = time;
    for (const grid of grids) grid.coarse.fill(0);
    const slabs = Math.max(0, Math.floor((time - YOUNG) / SLAB));
    found.from = slabs * SLAB;
    let widest = 0;
    solids.forEach((levels, solid) => {
      for (const one of chosen(levels, slabs, time)) {
        spreads[one.grid](one, time - one.time, solid);
        widest = Math.max(widest, one.grid);
      }
    });
    for (let n = widest; n > 0; n--) addWider(grids[n - 1], grids[n]);
    return found;
  };
  return found;
}

function coarseGrid(box, cell) {
  const nx = Math.ceil((box[2] - box[0]) / cell) + 1, ny = Math.ceil((box[3] - box[1]) / cell) + 1;
  return { left: box[0], top: box[1], cell, nx, ny, coarse: new Float32Array(nx * ny) };
}

// Adds a grid to one of half its cells, straight between its middles
function addWider(fine, wide) {
  for (let j = 0; j < fine.ny; j++) {
    const v = Math.min(wide.ny - 1.001, Math.max(0, (j + 0.5) / 2 - 0.5)), b = v | 0, sv = v - b;
    const low = b * wide.nx, high = low + wide.nx;
    for (let i = 0; i < fine.nx; i++) {
      const u = Math.min(wide.nx - 1.001, Math.max(0, (i + 0.5) / 2 - 0.5)), a = u | 0, su = u - a;
      const up = wide.coarse[low + a] + (wide.coarse[low + a + 1] - wide.coarse[low + a]) * su;
      const down = wide.coarse[high + a] + (wide.coarse[high + a + 1] - wide.coarse[high + a]) * su;
      fine.coarse[j * fine.nx + i] += up + (down - up) * sv;
    }
  }
}

// The fewest slabs that cover all time before a moment, each short against its age
function chosen(levels, slabs, time) {
  const found = [];
  let end = Math.min(slabs, levels[0].length);
  while (end > 0) {
    let level = 0;
    while (level + 1 < levels.length && end % (2 << level) === 0
      && SLAB * (2 << level) <= 0.34 * (time - end * SLAB)) level++;
    const one = levels[level][(end >> level) - 1];
    if (one) found.push(one);
    end -= 1 << level;
  }
  return found;
}

// Adds a slab to its coarse grid, blurred along both sides of it
function spreader({ nx, ny, cell, coarse }, M) {
  const across = new Float32Array(512), down = new Float32Array(512), middle = new Float32Array(nx * ny);
  return (one, age, solid) => {
    const variance = M.beam + M.gain * age + M.smooth / 2;
    const deviation = Math.sqrt(Math.max(0.3 * variance, variance - GRID_SPREAD * cell * cell)) / cell;
    const strength = (M.strength * M.depth(solid, age)) / (cell * cell);
    const hx = taps(across, deviation), hy = taps(down, deviation);
    const { i0, j0, wide, high, energy } = one;
    const left = Math.max(0, i0 - hx), right = Math.min(nx - 1, i0 + wide - 1 + hx);
    for (let j = 0; j < high; j++) {
      for (let i = left; i <= right; i++) {
        let sum = 0;
        const low = Math.max(i0, i - hx), last = Math.min(i0 + wide - 1, i + hx);
        for (let s = low; s <= last; s++) sum += energy[j * wide + s - i0] * across[Math.abs(i - s)];
        middle[j * nx + i] = sum;
      }
    }
    for (let j = Math.max(0, j0 - hy); j <= Math.min(ny - 1, j0 + high - 1 + hy); j++) {
      const low = Math.max(j0, j - hy), last = Math.min(j0 + high - 1, j + hy);
      for (let s = low; s <= last; s++) {
        const weight = strength * down[Math.abs(j - s)], from = (s - j0) * nx, to = j * nx;
        for (let i = left; i <= right; i++) coarse[to + i] += weight * middle[from + i];
      }
    }
  };
}

// Shares of a bell curve of so many cells in cells 0, 1, 2, … from its middle
function taps(into, deviation) {
  const half = Math.min(into.length - 1, Math.ceil(FADE * deviation) + 1);
  for (let k = 0; k <= half; k++) into[k] = normal((k + 0.5) / deviation) - normal((k - 0.5) / deviation);
  return half;
}

// Energy of each half second on the coarse grid, in J of index
function baseSlabs(S, M, grid, solid) {
  const slabs = Array.from({ length: Math.ceil((S.total + 1e-9) / SLAB) }, () => []);
  for (let i = 0; i < S.runs; i++) {
    const visit = S.visits[S.visit[S.row[i]]];
    if (S.part[i] === 0 || S.solidOf[S.part[i] - 1] !== solid || !visit.energy) continue;
    const long = S.q[i] - S.p[i], pieces = Math.max(1, Math.ceil((2 * long) / COARSE));
    const energy = (visit.energy * visit.scale * S.light[i] * long) / pieces;
    const time = S.rt[i] + long / 2 / visit.speed, slab = slabs[Math.min(slabs.length - 1, (time / SLAB) | 0)];
    const v = S.v[S.row[i]];
    for (let k = 0; k < pieces; k++) {
      const u = S.p[i] + ((k + 0.5) * long) / pieces;
      deposit(slab, grid, u * visit.cos + v * visit.sin, v * visit.cos - u * visit.sin, energy, time);
    }
  }
  return slabs.map(gathered);
}

// Shared out between the four nearest middles of cells
function deposit(slab, { left, top, nx, ny }, x, y, energy, time) {
  const fx = Math.max(0, (x - left) / COARSE - 0.5), fy = Math.max(0, (y - top) / COARSE - 0.5);
  const i = Math.min(nx - 2, fx | 0), j = Math.min(ny - 2, fy | 0), sx = Math.min(1, fx - i), sy = Math.min(1, fy - j);
  slab.push(i, j, energy * (1 - sx) * (1 - sy), time, i + 1, j, energy * sx * (1 - sy), time);
  slab.push(i, j + 1, energy * (1 - sx) * sy, time, i + 1, j + 1, energy * sx * sy, time);
}

// A list of (column, row, energy, time) as one image with its box and mean time
function gathered(list) {
  let i0 = Infinity, j0 = Infinity, i1 = -1, j1 = -1, sum = 0, moment = 0;
  for (let k = 0; k < list.length; k += 4) {
    i0 = Math.min(i0, list[k]);
    i1 = Math.max(i1, list[k]);
    j0 = Math.min(j0, list[k + 1]);
    j1 = Math.max(j1, list[k + 1]);
    sum += list[k + 2];
    moment += list[k + 2] * list[k + 3];
  }
  if (!(sum > 0)) return null;
  const wide = i1 - i0 + 1, high = j1 - j0 + 1, energy = new Float32Array(wide * high);
  for (let k = 0; k < list.length; k += 4) energy[(list[k + 1] - j0) * wide + list[k] - i0] += list[k + 2];
  return { grid: 0, i0, j0, wide, high, energy, time: moment / sum, sum };
}

// Slabs of one, two, four, … half seconds, on wider grids the longer they are
function levelsOf(base) {
  const levels = [base];
  while (levels.at(-1).length > 1) {
    const below = levels.at(-1), next = [], grid = Math.min(GRIDS - 1, levels.length >> 1);
    for (let n = 0; n + 1 < below.length; n += 2) next.push(together(below[n], below[n + 1], grid));
    levels.push(next);
  }
  return levels;
}

function together(one, two, grid) {
  const some = [one, two].filter(Boolean);
  if (!some.length) return null;
  const by = grid - some[0].grid, i0 = Math.min(...some.map((s) => s.i0 >> by)), j0 = Math.min(...some.map((s) => s.j0 >> by));
  const wide = Math.max(...some.map((s) => (s.i0 + s.wide - 1) >> by)) - i0 + 1;
  const high = Math.max(...some.map((s) => (s.j0 + s.high - 1) >> by)) - j0 + 1;
  const energy = new Float32Array(wide * high);
  let sum = 0, moment = 0;
  for (const slab of some) {
    sum += slab.sum;
    moment += slab.sum * slab.time;
    for (let j = 0; j < slab.high; j++) {
      const row = (((j + slab.j0) >> by) - j0) * wide - i0;
      for (let i = 0; i < slab.wide; i++) energy[row + ((i + slab.i0) >> by)] += slab.energy[j * slab.wide + i];
    }
  }
  return { grid, i0, j0, wide, high, energy, time: moment / sum, sum };
}

// Warmth on cells of a picture of box [left, top, right, bottom] mm: {at(time), nx, ny, cell, box,
// young}. `at` gives a Float32Array, row by row from the top, which the next call writes anew.
export function field(S, M, box, cell, old) {
  const nx = Math.ceil((box[2] - box[0]) / cell), ny = Math.ceil((box[3] - box[1]) / cell);
  const grid = { box, cell, nx, ny, out: new Float32Array(nx * ny), lit: new Float32Array(Math.max(nx, ny)) };
  const found = { ...grid, young: 0 };
  found.at = (time) => {
    const { from } = old.at(time);
    if (from > 0) readCoarse(grid, old); else grid.out.fill(0);
    found.young = 0;
    for (let r = Math.max(0, lowest(S.t, from) - 1); r < S.rows && S.t[r] <= time; r++) {
      for (let i = S.first[r]; i < S.first[r + 1]; i++) found.young += drawRun(S, M, grid, i, r, time, from);
    }
    return grid.out;
  };
  return found;
}

// From the coarse grid to the picture's cells, straight between its middles
function readCoarse({ box, cell, nx, ny, out }, old) {
  for (let j = 0; j < ny; j++) {
    const v = Math.min(old.ny - 1.001, Math.max(0, (box[1] + (j + 0.5) * cell - old.top) / COARSE - 0.5));
    const b = v | 0, sv = v - b, low = b * old.nx, high = low + old.nx;
    for (let i = 0; i < nx; i++) {
      const u = Math.min(old.nx - 1.001, Math.max(0, (box[0] + (i + 0.5) * cell - old.left) / COARSE - 0.5));
      const a = u | 0, su = u - a;
      const up = old.coarse[low + a] + (old.coarse[low + a + 1] - old.coarse[low + a]) * su;
      const down = old.coarse[high + a] + (old.coarse[high + a + 1] - old.coarse[high + a]) * su;
      out[j * nx + i] = up + (down - up) * sv;
    }
  }
}

// A run as far as the beam has come, in pieces while it is young; 1 if it was drawn
function drawRun(S, M, grid, i, r, time, from) {
  const visit = S.visits[S.visit[r]], long = S.q[i] - S.p[i], lasts = long / visit.speed;
  if (S.part[i] === 0 || !visit.energy || S.rt[i] > time || S.rt[i] + lasts / 2 < from) return 0;
  const solid = S.solidOf[S.part[i] - 1], done = long * Math.min(1, (time - S.rt[i]) / lasts);
  const pieces = time - S.rt[i] < 6 * lasts ? Math.max(1, Math.ceil(done / LONGEST_PIECE)) : 1;
  for (let k = 0; k < pieces; k++) {
    const near = (done * k) / pieces, far = (done * (k + 1)) / pieces;
    const p = S.forward[r] ? S.p[i] + near : S.q[i] - far, v = S.v[r];
    const age = Math.max(time - S.rt[i] - (near + far) / 2 / visit.speed, visit.own[solid][0]);
    const along = M.beam + M.gain * age + (grid.cell * grid.cell) / 12, across = along + M.smooth;
    const strength = (M.strength * visit.energy * visit.scale * S.light[i] * M.depth(solid, age))
      / Math.sqrt(2 * Math.PI * across);
    const one = { p, q: p + far - near, v, along: Math.sqrt(along), across: Math.sqrt(across), strength };
    if (visit.sin === 0 && visit.cos === 1) drawLevel(grid, one); else drawTurned(grid, one, visit);
  }
  return 1;
}

// A piece that lies along the rows of the picture: across and along apart
function drawLevel({ box, cell, nx, ny, out, lit }, { p, q, v, along, across, strength }) {
  const i0 = Math.max(0, ((p - FADE * along - box[0]) / cell) | 0), i1 = Math.min(nx - 1, ((q + FADE * along - box[0]) / cell) | 0);
  const j0 = Math.max(0, ((v - FADE * across - box[1]) / cell) | 0), j1 = Math.min(ny - 1, ((v + FADE * across - box[1]) / cell) | 0);
  if (i1 < i0 || j1 < j0) return;
  for (let i = i0; i <= i1; i++) {
    const x = box[0] + (i + 0.5) * cell;
    lit[i] = strength * (normal((x - p) / along) - normal((x - q) / along));
  }
  for (let j = j0; j <= j1; j++) {
    const dv = (box[1] + (j + 0.5) * cell - v) / across, weight = Math.exp(-0.5 * dv * dv), from = j * nx;
    for (let i = i0; i <= i1; i++) out[from + i] += weight * lit[i];
  }
}

// A piece at an angle: cell by cell within its box
function drawTurned({ box, cell, nx, ny, out }, { p, q, v, along, across, strength }, { cos, sin }) {
  const ends = [p - FADE * along, q + FADE * along], sides = [v - FADE * across, v + FADE * across];
  const xs = ends.flatMap((u) => sides.map((w) => u * cos + w * sin)), ys = ends.flatMap((u) => sides.map((w) => w * cos - u * sin));
  const i0 = Math.max(0, ((Math.min(...xs) - box[0]) / cell) | 0), i1 = Math.min(nx - 1, ((Math.max(...xs) - box[0]) / cell) | 0);
  const j0 = Math.max(0, ((Math.min(...ys) - box[1]) / cell) | 0), j1 = Math.min(ny - 1, ((Math.max(...ys) - box[1]) / cell) | 0);
  for (let j = j0; j <= j1; j++) {
    const y = box[1] + (j + 0.5) * cell;
    for (let i = i0; i <= i1; i++) {
      const x = box[0] + (i + 0.5) * cell, dv = (x * sin + y * cos - v) / across, u = x * cos - y * sin;
      if (Math.abs(dv) > FADE) continue;
      out[j * nx + i] += strength * Math.exp(-0.5 * dv * dv) * (normal((u - p) / along) - normal((u - q) / along));
    }
  }
}
