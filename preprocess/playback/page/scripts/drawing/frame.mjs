// A window onto the job, in millimetres, and the canvas that shows it.

export class Frame {
  constructor(canvas, box, whole) {
    this.density = Math.min(devicePixelRatio || 1, 2);
    this.wide = Math.max(1, Math.round(canvas.clientWidth * this.density));
    this.high = Math.max(1, Math.round(this.wide * (box[3] - box[1]) / (box[2] - box[0])));
    this.scale = this.wide / (box[2] - box[0]);
    Object.assign(this, { box, whole });
  }

  fits(canvas) {
    return this.wide === Math.round(canvas.clientWidth * this.density);
  }

  // A canvas of the same size that takes millimetres.
  sheet() {
    const canvas = new OffscreenCanvas(this.wide, this.high), pen = canvas.getContext('2d');
    this.toMillimetres(pen);
    return { canvas, pen };
  }

  pixel([x, y]) {
    return [(x - this.box[0]) * this.scale, (y - this.box[1]) * this.scale];
  }

  toMillimetres(pen) {
    const [left, top] = this.box;
    pen.setTransform(this.scale, 0, 0, this.scale, -left * this.scale, -top * this.scale);
  }

  // Whether a line from one point to another may reach into the window.
  shows([x0, y0], [x1, y1]) {
    const [left, top, right, bottom] = this.box;
    return Math.max(x0, x1) > left && Math.min(x0, x1) < right &&
      Math.max(y0, y1) > top - 1 && Math.min(y0, y1) < bottom + 1;
  }
}

export function grown([x0, y0, x1, y1], by) {
  return [x0 - by, y0 - by, x1 + by, y1 + by];
}

export function around([x, y], [wide, high]) {
  return [x - wide / 2, y - high / 2, x + wide / 2, y + high / 2];
}

// The place that was pressed, in millimetres.
export function pressed(event, canvas, box) {
  const shown = canvas.getBoundingClientRect();
  const scale = (box[2] - box[0]) / shown.width;
  return [
    box[0] + (event.clientX - shown.left) * scale,
    box[1] + (event.clientY - shown.top) * scale,
  ];
}
