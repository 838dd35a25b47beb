// Where the beam is, and when it comes by; S is what `side` makes (job.mjs).

// The first index of a sorted array with a value of at least that
export function lowest(sorted, value) {
  let low = 0, high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] < value) low = middle + 1; else high = middle;
  }
  return low;
}

// From u along row r to the page: [x, y]
export function place(S, r, u) {
  const { cos, sin } = S.visits[S.visit[r]], v = S.v[r];
  return [u * cos + v * sin, v * cos - u * sin];
}

// From the page to the row frame of row r: [u, v]
export function along(S, r, x, y) {
  return inFrame(S.visits[S.visit[r]], x, y);
}

// The same of a visit, or of anything with the cosine and sine of its angle
export function inFrame({ cos, sin }, x, y) {
  return [x * cos - y * sin, x * sin + y * cos];
}

// When the beam passes u on row r: of a place in the dark, the nearest point of light
export function passing(S, r, u) {
  return passingRun(S, nearestRun(S, r, u), u);
}

// The run of row r that lies nearest to u
export function nearestRun(S, r, u) {
  const end = S.first[r + 1];
  let low = S.first[r], high = end - 1;
  while (low < high) {                               // the last run that begins at or before u
    const middle = (low + high + 1) >> 1;
    if (S.p[middle] <= u) low = middle; else high = middle - 1;
  }
  return low + 1 < end && S.p[low + 1] - u < u - S.q[low] ? low + 1 : low;
}

// When the beam passes the point of a run that is nearest to u
export function passingRun(S, i, u) {
  const r = S.row[i], near = Math.min(Math.max(u, S.p[i]), S.q[i]);
  return S.rt[i] + (S.forward[r] ? near - S.p[i] : S.q[i] - near) / S.visits[S.visit[r]].speed;
}

// Passes of the beam within so many mm of a point, in time order:
// {row, visit, run, t, dy: mm across, off: mm along from the run, lit: the point lies in a run that
// warms a part, part}. Of a row the nearest run is told; rows of which nothing is near are not.
export function visitsAt(S, x, y, within) {
  const found = [];
  S.visits.forEach((visit, n) => {
    const [u, v] = inFrame(visit, x, y);
    if (v < visit.top - within || v > visit.bottom + within) return;
    if (u < visit.left - within || u > visit.right + within) return;
    const near = rowsBetween(S, visit, v - within, v + within);
    for (let r = near[0]; r < near[1]; r++) {
      const run = nearestRun(S, r, u), off = Math.max(S.p[run] - u, u - S.q[run], 0);
      if (off > within) continue;
      found.push({
        row: r, visit: n, run, t: passingRun(S, run, u), dy: S.v[r] - v, off,
        lit: off === 0 && S.part[run] > 0, part: S.part[run],
      });
    }
  });
  return found;
}

// Rows of a visit lie from the least v on: [first, end) of those between two
export function rowsBetween(S, visit, low, high) {
  const rows = S.v.subarray(visit.firstRow, visit.endRow);
  return [visit.firstRow + lowest(rows, low), visit.firstRow + lowest(rows, high)];
}

// The beam at a time: {visit, row, line, u, x, y, lit}. Of a scored line, row is −1 and u the mm that
// have been traced; of rows, line is −1. Between rows and lines the beam flies straight, not lit.
export function beamAt(S, t) {
  const n = Math.max(0, upto(S.visits, (visit) => visit.begins, t));
  const visit = S.visits[n];
  if (!visit) return { visit: -1, row: -1, line: -1, u: 0, x: 0, y: 0, lit: false };
  return { visit: n, ...(visit.kind === 'scored' ? onLine(S, visit, t) : onRow(S, visit, t)) };
}

// The last of several that have begun at a time; −1 if none has
function upto(some, begins, t) {
  let low = -1, high = some.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (begins(some[middle]) <= t) low = middle; else high = middle - 1;
  }
  return low;
}

function onRow(S, visit, t) {
  const starts = S.t.subarray(visit.firstRow, visit.endRow);
  const row = visit.firstRow + Math.max(0, lowest(starts, t + 1e-9) - 1);
  if (t > S.ends[row]) return { row, line: -1, u: S.forward[row] ? S.b[row] : S.a[row], lit: false, ...flight(S, row, t) };
  let run = S.forward[row] ? S.first[row] : S.first[row + 1] - 1;
  const step = S.forward[row] ? 1 : -1;
  while (run + step >= S.first[row] && run + step < S.first[row + 1] && S.rt[run + step] <= t) run += step;
  const far = Math.max(0, t - S.rt[run]), long = S.q[run] - S.p[run], lit = far * visit.speed <= long;
  const way = lit ? far * visit.speed : long + (far - long / visit.speed) * visit.gapSpeed;
  const u = S.forward[row] ? S.p[run] + way : S.q[run] - way;
  const [x, y] = place(S, row, u);
  return { row, line: -1, u, x, y, lit };
}

// From the end of a row to the start of the next one, in a straight line
function flight(S, row, t) {
  const from = place(S, row, S.forward[row] ? S.b[row] : S.a[row]);
  const next = row + 1;
  if (next >= S.rows || S.visit[next] !== S.visit[row]) return { x: from[0], y: from[1] };
  const to = place(S, next, S.forward[next] ? S.a[next] : S.b[next]);
  return between(from, to, (t - S.ends[row]) / (S.t[next] - S.ends[row]));
}

function between(from, to, share) {
  const part = Math.min(1, Math.max(0, share));
  return { x: from[0] + (to[0] - from[0]) * part, y: from[1] + (to[1] - from[1]) * part };
}

function onLine(S, visit, t) {
  const { first, x, y } = S.lines;
  const starts = S.lines.t.subarray(visit.firstLine, visit.endLine);
  const line = visit.firstLine + Math.max(0, lowest(starts, t + 1e-9) - 1), end = first[line + 1] - 1;
  if (t > S.lines.ends[line]) {
    const to = line + 1 < visit.endLine ? [x[end + 1], y[end + 1]] : [x[end], y[end]];
    const ready = line + 1 < visit.endLine ? S.lines.t[line + 1] : Infinity;
    const share = (t - S.lines.ends[line]) / (ready - S.lines.ends[line]);
    const u = (S.lines.ends[line] - S.lines.t[line]) * visit.speed;
    return { row: -1, line, u, lit: false, ...between([x[end], y[end]], to, share) };
  }
  const u = Math.max(0, t - S.lines.t[line]) * visit.speed;
  let left = u;
  for (let i = first[line]; i < end; i++) {
    const long = Math.hypot(x[i + 1] - x[i], y[i + 1] - y[i]);
    if (left <= long && long > 0) {
      return { row: -1, line, u, lit: true, ...between([x[i], y[i]], [x[i + 1], y[i + 1]], left / long) };
    }
    left -= long;
  }
  return { row: -1, line, u, lit: true, x: x[end], y: y[end] };
}
