// The drawing before and after, one over the other, drawn of the same outlines as the stages.

import { Frame } from './frame.mjs';

const INK = '#222', PART = '#777', ALL = [-Infinity, -Infinity, Infinity, Infinity];

export class Wipe {
  constructor(holder, range, sides, box, placing) {
    Object.assign(this, { holder, sides, box, placing });
    this.canvases = [...holder.querySelectorAll('canvas')];
    const [x0, y0, x1, y1] = box;
    holder.style.width = `min(100%, calc(75vh * ${(x1 - x0) / (y1 - y0)}))`;
    range.addEventListener('input', () => holder.style.setProperty('--at', `${range.value}%`));
  }

  draw() {
    const width = this.canvases[0].clientWidth;
    if (this.width === width) return;
    this.width = width;
    this.canvases.forEach((canvas, n) => this.paint(canvas, n));
  }

  paint(canvas, n) {
    const { outlines } = this.sides[n];
    const frame = new Frame(this.canvases[0], this.box, true), pen = canvas.getContext('2d');
    Object.assign(canvas, { width: frame.wide, height: frame.high });
    pen.fillStyle = '#fff';
    pen.fillRect(0, 0, frame.wide, frame.high);
    frame.toMillimetres(pen);
    if (n === 0) pen.transform(...this.placing.matrix);
    const areas = ({ kind }) => kind !== 'line', thin = frame.density / frame.scale;
    outlines.fill(pen, ALL, (shape) => areas(shape) && (shape.colour || INK));
    pen.lineWidth = 1.2 * thin;
    outlines.trace(pen, ALL, (shape) => !areas(shape) && (shape.colour || INK));
    pen.lineWidth = 1.4 * thin;
    pen.strokeStyle = PART;
    outlines.traceParts(pen, ALL);
  }
}
