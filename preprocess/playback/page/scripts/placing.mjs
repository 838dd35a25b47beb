// Where a place of the output lies on each side: a recipe may have placed the drawing elsewhere.

export class Placing {
  constructor(matrix) {
    this.matrix = matrix ?? [1, 0, 0, 1, 0, 0];
  }

  // From the output to a side: 0 as drawn, 1 as rewritten.
  toSide(side, [x, y]) {
    if (side === 1) return [x, y];
    const [a, b, c, d, e, f] = this.matrix, size = a * d - b * c;
    return [(d * (x - e) - c * (y - f)) / size, (a * (y - f) - b * (x - e)) / size];
  }

  fromSide(side, [x, y]) {
    const [a, b, c, d, e, f] = this.matrix;
    return side === 1 ? [x, y] : [a * x + c * y + e, b * x + d * y + f];
  }
}
