// Rows over time: as high as the row is long, as bright as its hottest place.

const TALL = 46, GAP = 0.3;             // px; s of dark after a row that are no more the row's own

export class Strip {
  constructor(canvas, job, longest, glow) {
    Object.assign(this, { canvas, job, longest, glow });
  }

  draw(time) {
    const { canvas } = this;
    if (this.width !== canvas.clientWidth) this.paint();
    const pen = canvas.getContext('2d');
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(this.rows, 0, 0);
    pen.fillStyle = '#fff';
    pen.fillRect(Math.min(1, time / this.job.total) * canvas.width - 1, 0, 2.5, canvas.height);
  }

  paint() {
    const { canvas, glow } = this, density = Math.min(devicePixelRatio || 1, 2);
    this.width = canvas.clientWidth;
    canvas.width = Math.max(1, Math.round(this.width * density));
    canvas.height = Math.round(TALL * density);
    this.rows = new OffscreenCanvas(canvas.width, canvas.height);
    const pen = this.rows.getContext('2d'), { long, hot } = this.columns(canvas.width);
    for (let i = 0; i < canvas.width; i++) {
      if (!long[i]) continue;
      const share = Math.sqrt(long[i] / this.longest);
      const high = Math.max(2 * density, (canvas.height - 4 * density) * share);
      pen.fillStyle = glow.css(hot[i]);
      pen.fillRect(i, canvas.height - high, 1, high);
    }
  }

  // Longest row and hottest place of each column of pixels.
  columns(count) {
    const { job } = this, long = new Float32Array(count), hot = new Float32Array(count);
    for (let row = 0; row < job.rows; row++) {
      const next = row + 1 < job.rows ? job.t[row + 1] : job.total;
      const ends = next - job.t[row] < GAP ? next : job.ends[row];
      const from = Math.min(count - 1, Math.floor(job.t[row] / job.total * count));
      const to = Math.min(count - 1, Math.max(from, ends / job.total * count - 1));
      for (let i = from; i <= to; i++) {
        long[i] = Math.max(long[i], job.b[row] - job.a[row]);
        hot[i] = Math.max(hot[i], job.hottest[row]);
      }
    }
    return { long, hot };
  }

  pressed(event) {
    const shown = this.canvas.getBoundingClientRect();
    return (event.clientX - shown.left) / shown.width * this.job.total;
  }
}
