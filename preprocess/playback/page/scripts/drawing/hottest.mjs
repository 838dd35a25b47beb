// The predicted index of every cell marked so far, on the grid of a picture. It is the index that
// the report and the heat map hold, not what this page computes.

import { lowest } from '../../../scripts/beam.mjs';

export class Hottest {
  constructor(cells, size, field) {
    Object.assign(this, { cells, half: size / 2, field, done: 0 });
    this.most = new Float32Array(field.nx * field.ny);
  }

  at(time) {
    const { cells, most } = this, until = lowest(cells.t, time);
    if (until < this.done) {
      most.fill(0);
      this.done = 0;
    }
    for (; this.done < until; this.done++) this.mark(this.done);
    return most;
  }

  mark(cell) {
    const { cells, field, most } = this, value = cells.v[cell];
    const [left, right] = this.covered(cells.x[cell] - field.box[0], field.nx);
    const [top, bottom] = this.covered(cells.y[cell] - field.box[1], field.ny);
    for (let j = top; j <= bottom; j++) {
      for (let i = left; i <= right; i++) {
        if (most[j * field.nx + i] < value) most[j * field.nx + i] = value;
      }
    }
  }

  // The first and the last of the picture's cells that a cell of the index covers: one at least.
  covered(middle, count) {
    const { half, field: { cell } } = this, first = Math.round((middle - half) / cell);
    const last = Math.max(Math.round((middle + half) / cell) - 1, first);
    return [Math.max(0, first), Math.min(count - 1, last)];
  }
}
