// One picture of one side: a window onto the job, drawn anew for each moment.

import { field } from '../../../scripts/glow.mjs';
import { Frame } from './frame.mjs';
import { Hottest } from './hottest.mjs';
import { Swept, drawBeam } from './swept.mjs';

const STAGE = '#14161a', EDGE = '#8b939e', ART = '#69727f', BARS = '#9aa4b2', LINE = '#59616c';
const VEIL = 5;                         // steps of the ramp over which the glow covers what is below

export class Picture {
  constructor(canvas, side, { glow, medium, cell, whole }) {
    Object.assign(this, { canvas, side, glow, medium, cell, whole });
    this.pen = canvas.getContext('2d');
  }

  look(box) {
    this.box = box;
    this.field = field(this.side.job, this.medium, box, this.cell, this.side.past);
    const { nx, ny } = this.field;
    this.small = new OffscreenCanvas(nx, ny);
    this.image = new ImageData(nx, ny);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.hottest = new Hottest(this.side.job.cells, this.side.cell, this.field);
    this.frame = null;
  }

  draw(time, before, view, ring) {
    const frame = this.framed(), { pen } = this;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = STAGE;
    pen.fillRect(0, 0, frame.wide, frame.high);
    if (view === 'most') this.drawHottest(frame, time);
    else this.drawWarmth(frame, time);
    pen.drawImage(this.outline, 0, 0);
    drawBeam(pen, this.side.job, frame, time, before);
    if (ring) drawRing(pen, frame, ring);
    if (!this.whole) drawRuler(pen, frame);
  }

  framed() {
    if (this.frame?.fits(this.canvas)) return this.frame;
    const frame = this.frame = new Frame(this.canvas, this.box, this.whole);
    Object.assign(this.canvas, { width: frame.wide, height: frame.high });
    this.swept = new Swept(this.side.job, frame);
    this.outline = this.traced(frame);
    this.mask = frame.sheet();
    const all = ({ kind }) => (kind === 'area' || kind === 'image') && '#000';
    this.side.outlines.fill(this.mask.pen, frame.box, all);
    this.layer = frame.sheet();
    return frame;
  }

  traced(frame) {
    const { canvas, pen } = frame.sheet(), { outlines } = this.side, { box } = frame;
    const thin = frame.density / frame.scale;
    outlines.borders(pen, box, thin, ({ kind }) => (kind === 'bars' ? BARS : ART));
    pen.lineWidth = thin;
    outlines.trace(pen, box, ({ kind, guide }) => kind === 'line' && !guide && LINE);
    pen.lineWidth = 1.3 * thin;
    pen.strokeStyle = EDGE;
    outlines.traceParts(pen, box);
    return canvas;
  }

  drawWarmth(frame, time) {
    const warm = this.field.at(time), scale = 255 / this.glow.top;
    for (let i = 0; i < this.pixels.length; i++) {
      const step = Math.min(255, warm[i] * scale) | 0;
      this.pixels[i] = this.glow.pixels[step] & 0xffffff | Math.min(255, step * VEIL) << 24;
    }
    this.pen.drawImage(this.swept.at(time), 0, 0);
    this.spread(this.pen, frame);
  }

  drawHottest(frame, time) {
    const most = this.hottest.at(time), scale = 255 / this.glow.top;
    for (let i = 0; i < this.pixels.length; i++) {
      this.pixels[i] = most[i] ? this.glow.pixels[Math.min(255, most[i] * scale) | 0] : 0;
    }
    const { canvas, pen } = this.layer;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.globalCompositeOperation = 'copy';
    this.spread(pen, frame);
    pen.globalCompositeOperation = 'destination-in';
    pen.drawImage(this.mask.canvas, 0, 0);
    this.pen.drawImage(canvas, 0, 0);
  }

  spread(pen, frame) {
    const { nx, ny, cell } = this.field;
    this.small.getContext('2d').putImageData(this.image, 0, 0);
    pen.drawImage(this.small, 0, 0, nx * cell * frame.scale, ny * cell * frame.scale);
  }
}

// White in black: seen on every colour of the ramp.
function drawRing(pen, frame, point) {
  for (const [colour, radius, wide] of [['#000', 9.6, 1.2], ['#fff', 8, 1.8]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = wide * frame.density;
    pen.beginPath();
    pen.arc(...frame.pixel(point), radius * frame.density, 0, 7);
    pen.stroke();
  }
}

function drawRuler(pen, frame) {
  const one = frame.density, low = frame.high - 12 * one;
  pen.fillStyle = '#fff';
  pen.fillRect(10 * one, low, frame.scale, 2 * one);
  pen.font = `${12 * one}px Helvetica, Arial, sans-serif`;
  pen.textAlign = 'left';
  pen.textBaseline = 'alphabetic';
  pen.fillText('1 mm', 10 * one, low - 4 * one);
}
