// Outlines of parts, artwork and bars, and what of them reaches into a window.

const RINGS_AT_ONCE = 64;                 // rings to a path: one path of 10 000 rings takes seconds to close
const KINDS = ['area', 'bars', 'line', 'image'];

export class Outlines {
  constructor(shapes, layers, parts) {
    this.x = shapes.x;
    this.y = shapes.y;
    this.shapes = Array.from({ length: shapes.count }, (_, n) => ({
      kind: KINDS[shapes.kind[n]],
      colour: layers[shapes.layer[n]].colour,
      guide: layers[shapes.layer[n]].operation === 'guide',
      rings: this.ringsOf(shapes, n),
    }));
    this.parts = parts.flat().map((ring) => ringOf(
      Float32Array.from({ length: ring.length / 2 }, (_, i) => ring[2 * i]),
      Float32Array.from({ length: ring.length / 2 }, (_, i) => ring[2 * i + 1]),
    ));
  }

  ringsOf({ ring, point, x, y }, n) {
    const rings = [];
    for (let k = ring[n]; k < ring[n + 1]; k++) {
      rings.push(ringOf(x.subarray(point[k], point[k + 1]), y.subarray(point[k], point[k + 1])));
    }
    return rings;
  }

  // Traces the parts.
  traceParts(pen, box) {
    trace(pen, this.parts.filter((ring) => reaches(ring, box)));
  }

  // Traces shapes in a colour each; those without one are left out, as everywhere here.
  trace(pen, box, colour) {
    this.each(box, colour, (rings, paint) => {
      pen.strokeStyle = paint;
      trace(pen, rings);
    });
  }

  // Fills shapes in a colour each, with their holes left open.
  fill(pen, box, colour) {
    this.each(box, colour, (rings, paint) => {
      pen.fillStyle = paint;
      pen.beginPath();
      for (const ring of rings) follow(pen, ring);
      pen.fill('evenodd');
    });
  }

  each(box, colour, draw) {
    for (const shape of this.shapes) {
      const paint = colour(shape), rings = paint ? shape.rings.filter((r) => reaches(r, box)) : [];
      if (rings.length) draw(rings, paint);
    }
  }

  // The outer borders of what is swept. Strips and zones that touch have none between them.
  borders(pen, box, wide, style) {
    const swept = ({ kind }) => kind !== 'line';
    pen.lineWidth = 2.6 * wide;
    this.trace(pen, box, (shape) => swept(shape) && style(shape));
    pen.globalCompositeOperation = 'destination-out';
    pen.lineWidth = 0.7 * wide;
    this.fill(pen, box, (shape) => swept(shape) && '#000');
    this.trace(pen, box, (shape) => swept(shape) && '#000');
    pen.globalCompositeOperation = 'source-over';
  }
}

function trace(pen, rings) {
  for (let from = 0; from < rings.length; from += RINGS_AT_ONCE) {
    pen.beginPath();
    for (const ring of rings.slice(from, from + RINGS_AT_ONCE)) follow(pen, ring);
    pen.stroke();
  }
}

function follow(pen, { x, y }) {
  pen.moveTo(x[0], y[0]);
  for (let i = 1; i < x.length; i++) pen.lineTo(x[i], y[i]);
}

function reaches({ box: [a, b, c, d] }, [x0, y0, x1, y1]) {
  return a < x1 && c > x0 && b < y1 && d > y0;
}

function ringOf(x, y) {
  let [a, b, c, d] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < x.length; i++) {
    a = Math.min(a, x[i]);
    c = Math.max(c, x[i]);
    b = Math.min(b, y[i]);
    d = Math.max(d, y[i]);
  }
  return { x, y, box: [a, b, c, d] };
}
