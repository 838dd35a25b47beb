// The drawing before and after, one over the other, drawn of the same outlines as the stages.

import { Frame } from './frame.mjs';

const INK = '#222', PART = '#777';

export class Wipe {
  constructor(holder, range, sides, box) {
    Object.assign(this, { holder, sides, box });
    this.canvases = [...holder.querySelectorAll('canvas')];
    const [x0, y0, x1, y1] = box;
    holder.style.width = `min(100%, calc(75vh * ${(x1 - x0) / (y1 - y0)}))`;
    range.addEventListener('input', () => holder.style.setProperty('--at', `${range.value}%`));
  }

  draw() {
    const width = this.canvases[0].clientWidth;
    if (this.width === width) return;
    this.width = width;
    this.canvases.forEach((canvas, n) => this.paint(canvas, this.sides[n].outlines));
  }

  paint(canvas, outlines) {
    const frame = new Frame(this.canvases[0], this.box, true), pen = canvas.getContext('2d');
    Object.assign(canvas, { width: frame.wide, height: frame.high });
    pen.fillStyle = '#fff';
    pen.fillRect(0, 0, frame.wide, frame.high);
    frame.toMillimetres(pen);
    const areas = ({ kind }) => kind !== 'line', thin = frame.density / frame.scale;
    outlines.fill(pen, this.box, (shape) => areas(shape) && (shape.colour || INK));
    pen.lineWidth = 1.2 * thin;
    outlines.trace(pen, this.box, (shape) => !areas(shape) && (shape.colour || INK));
    pen.lineWidth = 1.4 * thin;
    pen.strokeStyle = PART;
    outlines.traceParts(pen, this.box);
  }
}
