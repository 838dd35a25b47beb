// Opens the block of a job into typed arrays, and says where the beam is at any time.
//
// The scripts are joined to one module (joined.py) in the order beam, job, heat, glow: an import stands
// on one line, exports begin a line, names at the top level are unique over all scripts.
//
// THE BLOCK. Python writes two texts, both deflated without a frame and in base64: the head (JSON)
// and the data (columns of whole numbers). `inflate(text)` gives bytes.
//
//   head.title, .box [left, top, right, bottom], .page [left, top, width, height]: mm, in the
//     drawing's own coordinates, as all places here. Places for people count from the page's corner.
//   head.parts: one list of rings to each part of the output, a ring is [x, y, x, y, …]; none where
//     no part is known. Each side has its own parts: copies for a tray are made on the way.
//   head.window {weak, heavy, molten or null}, in the index.
//   head.simplified: sentences on what was left out so that the page stays small; mostly empty.
//   head.heat: constants for `medium`.
//   head.sides: two of {name, total (s), parts, layers, findings, index, …: see `side`}.
//     layers [{name, operation, colour or null, power (share), speed, pitch, angle, direction,
//       repeats, begins, ends, rows, marked (mm), return (s, median)}], null where not set or known.
//     findings [{severity, code, what, remedy, spot [x, y] or null}].
//     index {known, largest, median, p95, cv, tooWeak, tooHeavy, calibrated, trust, assumed,
//       unknown, every, wideColumns}: Python's figures. cells.pooled: so many cells a side are one.
//
// THE SIDE. `side(head.sides[k], bytes, head.heat)` gives S, all of it in mm and s:
//   S.rows, S.runs: how many there are. S.total: s. S.parts: rings. S.visits[n], in time order:
//     {layer (number), name, colour, kind: "rows" | "own rows" | "scored", angle, speed, gapSpeed,
//      power, pitch, scale, begins, ends, repeat, part (from 1 on; 0 none, −1 several),
//      firstRow, endRow, firstLine, endLine, left, top, right, bottom: box of the lit in u and v}
//   rows: S.v, S.a, S.b (v, least u, greatest u), S.t (start), S.ends, S.forward, S.visit, S.first
//     (S.first[r] … S.first[r + 1] are its runs), S.hottest (largest index of its cells)
//   runs: S.p, S.q (ends in u, p < q), S.rt (when the beam enters), S.row, S.part (0: a bar, or
//     beside all parts, warms nothing), S.light (share of the energy of its row)
//   lines: S.lines {count, first, x, y, t, ends, visit}: points first[k] … first[k + 1]
//   cells of the index, in time order of the beam: S.cells {x, y, v, row, t}
//   outlines: S.shapes {count, layer, kind, ring, point, x, y}: rings ring[k] … ring[k + 1] of a
//     shape, points point[i] … point[i + 1] of a ring; kind 0 area, 1 bars, 2 line, 3 image.
//     A ring that ends where it begins is closed.
//
// Rows of a visit lie in its row frame: u along, v across. `place` goes to the page, `along` back.
// A point that rows of several parts or layers reach counts with the largest index of them.

import { passing, place } from './beam.mjs';

// Bytes of a text of the page
export async function inflate(base64) {
  const bytes = Uint8Array.from(atob(base64.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('deflate-raw'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

// Head of the block; head.heat is given the units too
export async function opened(base64) {
  const head = JSON.parse(new TextDecoder().decode(await inflate(base64)));
  head.heat.units = head.units;
  return head;
}

const STEPS = 1, SIGNED = 2;

// Cells are sorted by whole numbers of time and cell, which is much faster than by a comparison
const KEY_TIME = 1e-5, KEY_ROOM = 2 ** 20;

// A column: first the lowest bytes of all values, then the next ones
function column(bytes, [width, count, at, code]) {
  const values = code === SIGNED ? new Int32Array(count) : new Uint32Array(count);
  for (let plane = 0; plane < width; plane++) {
    const from = at + plane * count, shift = 8 * plane;
    for (let i = 0; i < count; i++) values[i] |= bytes[from + i] << shift;
  }
  if (code === STEPS) {
    const mask = width < 4 ? (1 << (8 * width)) - 1 : 0xffffffff;
    for (let i = 1; i < count; i++) values[i] = (values[i] + values[i - 1]) & mask;
  }
  if (code === SIGNED) {
    for (let i = 0; i < count; i++) values[i] = values[i] & 1 ? -((values[i] + 1) >>> 1) : values[i] >>> 1;
  }
  return values;
}

export function side(head, bytes, heat) {
  const C = {}, units = heat.units;
  for (const name in head.columns) C[name] = column(bytes, head.columns[name]);
  const S = { total: head.total, index: head.index, parts: head.parts, solidOf: head.solidOf };
  const sets = setsOf(head, C, units);
  S.visits = visitsOf(head, C, sets, units);
  rowsAndRuns(S, C, sets, units);
  linesOf(S, C, sets, units);
  S.shapes = shapesOf(C, head.corner, units);
  S.cells = cellsOf(S, head, C, sets, units);
  return S;
}

// First row, piece and line of each set
function setsOf(head, C, units) {
  let row = 0, run = 0, late = 0, line = 0;
  return Array.from(C.set_style, (style, n) => {
    const one = { style: head.styles[style], row, run, line, rows: C.set_rows[n], lines: C.set_lines[n] };
    const corner = head.frames[one.style.frame];
    one.left = corner.u + C.set_left[n] * units.length;
    one.top = corner.v + C.set_top[n] * units.length;
    row += one.rows;
    for (let r = one.row; r < row; r++) run += C.row_pieces[r];
    one.runs = run - one.run;
    one.late = C.set_late[n] ? late : -1;
    if (C.set_late[n]) late += one.runs;
    line += one.lines;
    return one;
  });
}

function visitsOf(head, C, sets, units) {
  let row = 0, line = 0;
  return Array.from(C.visit_set, (number, n) => {
    const { style, rows, lines } = sets[number], frame = head.frames[style.frame], layer = head.layers[style.layer];
    const begins = C.visit_begins[n] * units.time;
    const visit = {
      layer: style.layer, name: layer.name, colour: layer.colour, kind: style.kind, set: number,
      repeat: C.visit_repeat[n], angle: frame.angle, cos: frame.cos, sin: frame.sin,
      speed: style.speed, gapSpeed: style.gapSpeed ?? style.speed, power: style.power, pitch: style.pitch ?? 0,
      energy: style.energy ?? 0, scale: style.scale ?? 0, own: style.own ?? [], part: 0,
      begins, ends: begins + C.visit_lasts[n] * units.time,
      firstRow: row, endRow: row + rows, firstLine: line, endLine: line + lines,
      left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity,
    };
    row += rows;
    line += lines;
    return visit;
  });
}

// Every visit has rows and runs of its own, also where a repeat goes over the same set again
function rowsAndRuns(S, C, sets, units) {
  const rows = S.visits.at(-1)?.endRow ?? 0;
  const runs = S.visits.reduce((sum, one) => sum + sets[one.set].runs, 0);
  const full = 1 / units.light;
  Object.assign(S, {
    rows, runs, v: new Float32Array(rows), a: new Float32Array(rows), b: new Float32Array(rows),
    t: new Float64Array(rows), ends: new Float64Array(rows), forward: new Uint8Array(rows),
    visit: new Uint32Array(rows), first: new Uint32Array(rows + 1), hottest: new Float32Array(rows),
    p: new Float32Array(runs), q: new Float32Array(runs), rt: new Float64Array(runs),
    row: new Uint32Array(runs), part: new Uint16Array(runs), light: new Float32Array(runs),
  });
  let run = 0;
  S.visits.forEach((visit, n) => {
    const set = sets[visit.set];
    let piece = set.run, clock = 0;
    for (let k = 0; k < set.rows; k++) {
      const from = set.row + k, r = visit.firstRow + k, count = C.row_pieces[from];
      clock += C.row_time[from];
      S.t[r] = visit.begins + clock * units.time;
      S.v[r] = set.top + C.row_v[from] * units.length;
      S.forward[r] = C.row_forward[from];
      S.visit[r] = n;
      S.first[r] = run;
      for (let i = 0; i < count; i++) {
        const p = C.piece_start[piece + i];
        S.p[run + i] = set.left + p * units.length;
        S.q[run + i] = set.left + (p + C.piece_long[piece + i]) * units.length;
        S.part[run + i] = C.piece_part[piece + i];
        S.light[run + i] = C.piece_light.length ? C.piece_light[piece + i] / full : 1;
        S.row[run + i] = r;
      }
      const late = set.late < 0 ? null : C.piece_late.subarray(set.late + piece - set.run);
      clock += enterRuns(S, C, { visit, style: set.style, r, piece, count, late }, units);
      piece += count;
      run += count;
      widen(S, visit, r, run);
    }
  });
  S.first[rows] = run;
}

// When the beam enters the runs of a row; returns the units of time until the next row, as its
// style says. Sums are made of whole numbers, as Python makes them.
function enterRuns(S, C, { visit, style, r, piece, count, late }, units) {
  const end = piece + count, start = C.piece_start[piece];
  const span = C.piece_start[end - 1] + C.piece_long[end - 1] - start;
  let lit = 0;
  for (let i = piece; i < end; i++) lit += C.piece_long[i];
  let before = 0;
  for (let k = 0; k < count; k++) {
    const i = S.forward[r] ? piece + k : end - 1 - k, run = S.first[r] + i - piece;
    const way = S.forward[r] ? C.piece_start[i] - start : start + span - C.piece_start[i] - C.piece_long[i];
    const after = late ? late[i - piece] * units.time
      : (before * units.length) / visit.speed + ((way - before) * units.length) / visit.gapSpeed;
    S.rt[run] = S.t[r] + after;
    S.ends[r] = Math.max(S.ends[r], S.rt[run] + (C.piece_long[i] * units.length) / visit.speed);
    before += C.piece_long[i];
  }
  let seconds = (lit * units.length) / visit.speed + ((span - lit) * units.length) / visit.gapSpeed;
  seconds = seconds + style.turn + style.back * (span * units.length);
  return Math.floor(seconds / units.time + 0.5);
}

function widen(S, visit, r, end) {
  const first = S.first[r];
  S.a[r] = S.p[first];
  S.b[r] = S.q[end - 1];
  visit.left = Math.min(visit.left, S.a[r]);
  visit.right = Math.max(visit.right, S.b[r]);
  visit.top = Math.min(visit.top, S.v[r]);
  visit.bottom = Math.max(visit.bottom, S.v[r]);
  for (let i = first; i < end; i++) {
    if (S.part[i] === 0) continue;
    visit.part = visit.part === 0 ? S.part[i] : visit.part === S.part[i] ? visit.part : -1;
  }
}

// Lines that are scored or cut; own rows are rows
function linesOf(S, C, sets, units) {
  const firstPoint = new Uint32Array(C.line_points.length + 1);
  C.line_points.forEach((count, k) => { firstPoint[k + 1] = firstPoint[k] + count; });
  const x = [], y = [], first = [0], t = [], ends = [], visits = [];
  S.visits.forEach((visit, n) => {
    const set = sets[visit.set];
    for (let k = set.line; k < set.line + set.lines; k++) {
      for (let i = firstPoint[k]; i < firstPoint[k + 1]; i++) {
        x.push(set.left + C.point_x[i] * units.length);
        y.push(set.top + C.point_y[i] * units.length);
      }
      let long = 0;
      for (let i = first.at(-1) + 1; i < x.length; i++) long += Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]);
      first.push(x.length);
      t.push(visit.begins + C.line_time[k] * units.time);
      ends.push(t.at(-1) + long / visit.speed);
      visits.push(n);
    }
  });
  S.lines = {
    count: t.length, first: Uint32Array.from(first), x: Float32Array.from(x), y: Float32Array.from(y),
    t: Float64Array.from(t), ends: Float64Array.from(ends), visit: Uint32Array.from(visits),
  };
}

function shapesOf(C, corner, units) {
  const starts = (counts) => {
    const first = new Uint32Array(counts.length + 1);
    counts.forEach((count, k) => { first[k + 1] = first[k] + count; });
    return first;
  };
  return {
    count: C.shape_layer.length, layer: C.shape_layer, kind: C.shape_kind,
    ring: starts(C.shape_rings), point: starts(C.ring_points),
    x: Float32Array.from(C.shape_x, (x) => corner[0] + x * units.outline),
    y: Float32Array.from(C.shape_y, (y) => corner[1] + y * units.outline),
  };
}

// Cells of Python's index, in the order in which the beam passes them, the last time if it repeats
function cellsOf(S, head, C, sets, units) {
  const count = C.cell_index.length, { unit, pooled, first, widths } = head.cells;
  const us = new Float64Array(count), rows = new Uint32Array(count), keys = new Float64Array(count);
  const visitOf = new Map(S.visits.map((visit) => [visit.set, visit]));
  let cell = 0, byte = 0, line = 0;
  C.image_set.forEach((set, n) => {
    const visit = visitOf.get(set), columns = C.image_columns[n], step = widths[C.image_width[n]];
    const left = (C.image_first[n] + first) * step / 2;
    for (let i = 0; i < C.image_rows[n]; i++) {
      const r = visit.firstRow + C.image_row[line + i];
      for (let j = 0; j < columns; j++) {
        const bit = i * columns + j;
        if (!(C.cell_lit[byte + (bit >> 3)] >> (7 - (bit & 7)) & 1)) continue;
        us[cell] = left + j * pooled * step + (C.cell_aside[cell] ?? 0) * units.length;
        rows[cell] = r;
        keys[cell] = Math.round(passing(S, r, us[cell]) / KEY_TIME) * KEY_ROOM + cell;
        S.hottest[r] = Math.max(S.hottest[r], C.cell_index[cell++] * unit);
      }
    }
    line += C.image_rows[n];
    byte += Math.ceil(C.image_rows[n] * columns / 8);
  });
  const found = {
    x: new Float32Array(count), y: new Float32Array(count), v: new Float32Array(count),
    row: new Uint32Array(count), t: new Float64Array(count),
  };
  keys.sort().forEach((key, k) => {
    const from = key % KEY_ROOM, r = rows[from];
    [found.x[k], found.y[k]] = place(S, r, us[from]);
    found.v[k] = C.cell_index[from] * unit;
    found.row[k] = r;
    found.t[k] = passing(S, r, us[from]);
  });
  return found;
}
