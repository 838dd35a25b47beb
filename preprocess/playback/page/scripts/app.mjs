// The page: opens the data, draws the first picture, and listens. Nothing starts by itself.

import { inflate, opened, side } from '../../scripts/job.mjs';
import { past } from '../../scripts/glow.mjs';
import { medium } from '../../scripts/heat.mjs';
import { hashOf, keptState, tellAround } from './address.mjs';
import { Chosen } from './chosen.mjs';
import { glowOf } from './drawing/colours.mjs';
import { grown } from './drawing/frame.mjs';
import { Outlines } from './drawing/outlines.mjs';
import { Wipe } from './drawing/wipe.mjs';
import { Placing } from './placing.mjs';
import { Player, SPEEDS } from './player.mjs';
import { Side, longestRow } from './side.mjs';
import { rate } from './words.mjs';

const $ = (id) => document.getElementById(id);
const MARGIN = 0.8, SPREAD = 3;                    // mm shown around the job, and warmed around it
const SLOW = 1 / 3, LONG = 20;                     // usual speed at a place; s that a whole job may take

class App {
  constructor(sides, shared, names) {
    const { placing, corner, boxes } = shared;
    Object.assign(this, { sides, names, placing, corner, boxes, view: 'now', follow: false });
    const sections = [...document.querySelectorAll('.side')];
    this.views = sides.map((one, n) => new Side(sections[n], one, boxes[n], shared));
    this.chosen = new Chosen(names, sides, shared);
    this.player = new Player(sides.map((one) => one.job), () => this.show());
    this.wipe = new Wipe($('wipe'), $('share'), sides, boxes[1], placing);
  }

  // Redraws everything for the moment, and says how long that took, for whoever watches the pace.
  draw() {
    const begun = performance.now(), { t, was } = this.player, { view, follow } = this;
    this.views.forEach((one, n) => {
      one.draw(t[n], was[n], { view, ring: this.on(n), follow });
    });
    this.chosen.draw(t);
    this.wipe.draw();
    document.dispatchEvent(new CustomEvent('picture', { detail: performance.now() - begun }));
  }

  show() {
    this.draw();
    const { playing } = this.player;
    $('all').textContent = playing === 'all' ? 'Pause' : 'Play all';
    $('local').textContent = playing === 'place' ? 'Pause' : 'Play the place';
    if (!playing) this.keep();
  }

  keep() {
    const { view, follow } = this, { t, speed } = this.player;
    tellAround({ state: hashOf({ place: this.chosen.point, t, view, speed, follow }) });
  }

  choose(point) {
    ['x', 'y'].forEach((id, n) => { $(id).value = (point[n] - this.corner[n]).toFixed(1); });
    this.chosen.choose(point, $('together').checked);
    if (!this.follow) this.lookThere();
    if (!this.player.playing) this.player.jump(this.chosen.moments().map((t) => t + 1e-4));
    this.show();
  }

  // The chosen place as it lies on a side.
  on(side) {
    return this.placing.toSide(side, this.chosen.point);
  }

  lookThere() {
    this.views.forEach((one, n) => one.lookAt(this.on(n)));
  }

  // At the usual speed for it, until a person has chosen one.
  play(usual, start) {
    if (!this.chose && !this.player.playing) this.setSpeed(usual);
    start();
  }

  chooseSpeed(speed) {
    this.chose = true;
    this.setSpeed(speed);
    this.keep();
  }

  setSpeed(speed) {
    this.player.speed = speed;
    $('speed').value = String(speed);
  }

  listen() {
    const { player } = this;
    this.views.forEach((one, n) => one.listen(
      (at) => this.press(this.placing.fromSide(n, at)), (t) => player.seek(n, t)));
    const longest = Math.max(...player.jobs.map((job) => job.total));
    const quick = SPEEDS.find((speed) => speed >= 1 && longest / speed <= LONG) ?? SPEEDS.at(-1);
    on('all', 'click', () => this.play(quick, () => player.playAll()));
    on('local', 'click', () => this.play(SLOW, () => player.playPlace(this.chosen.moments())));
    on('back', 'click', () => player.stepRow(-1));
    on('next', 'click', () => player.stepRow(1));
    on('speed', 'change', () => this.chooseSpeed(+$('speed').value));
    on('follow', 'change', () => this.setFollow($('follow').checked));
    on('together', 'change', () => this.choose(this.chosen.point));
    const typed = () => ['x', 'y'].map((id, n) => +$(id).value + this.corner[n]);
    for (const id of ['x', 'y']) on(id, 'change', () => this.press(typed()));
    for (const one of document.querySelectorAll('input[name=view]')) {
      one.addEventListener('change', () => this.setView(one.value));
    }
    for (const one of document.querySelectorAll('button[data-place]')) {
      one.addEventListener('click', () => { this.pick(one); bringUp($('sides')); });
    }
    addEventListener('resize', () => this.draw());
    addEventListener('beforeprint', () => this.print());
    addEventListener('afterprint', () => this.afterPrint());
    document.addEventListener('visibilitychange', () => document.hidden && player.pause());
  }

  // The first picture: what the page before this one showed, or the first of the offered places.
  begin({ place, t, view, follow }) {
    const first = document.querySelector('button[data-place]');
    if (place) this.choose(place);
    else if (first) this.pick(first);
    else this.choose(middleOf(this.boxes[1]));
    if (t) this.player.jump(t);
    if (follow) this.setFollow(true);
    this.setView(view);
  }

  press(point) {
    if (!point.every(Number.isFinite)) return;
    markPressed(null);
    this.choose(point);
  }

  pick(button) {
    markPressed(button);
    const { place, side } = button.dataset;
    this.choose(this.placing.fromSide(+side, place.split(',').map(Number)));
  }

  setView(view) {
    this.view = view;
    document.querySelector(`input[name=view][value=${view}]`).checked = true;
    this.show();
  }

  setFollow(follow) {
    this.follow = follow;
    $('follow').checked = follow;
    if (!follow) this.lookThere();
    this.show();
  }

  // On paper each side stands at the hottest moment of the chosen place, whatever was shown.
  print() {
    this.player.pause();
    this.shown = this.player.t;
    this.player.jump(this.chosen.moments().map((t) => t + 1e-4));
    this.draw();
  }

  afterPrint() {
    this.player.jump(this.shown);
    this.draw();
  }
}

function on(id, event, act) {
  $(id).addEventListener(event, act);
}

function markPressed(button) {
  for (const one of document.querySelectorAll('button[data-place]')) {
    one.setAttribute('aria-pressed', String(one === button));
  }
}

function middleOf([x0, y0, x1, y1]) {
  return [(x0 + x1) / 2, (y0 + y1) / 2];
}

function offerPlaces() {
  for (const one of document.querySelectorAll('[data-spot]')) {
    const button = document.createElement('button');
    Object.assign(button, { type: 'button' });
    button.dataset.place = one.dataset.spot;
    button.dataset.side = one.dataset.side;
    button.append(...one.childNodes);
    one.append(button);
  }
}

function offerSpeeds() {
  for (const speed of SPEEDS) $('speed').append(new Option(rate(speed), String(speed)));
}

// Scrolls to what a press changed, where it is out of sight; never by itself, for a page in a frame
// would take the page around it along.
function bringUp(element) {
  const calm = matchMedia('(prefers-reduced-motion: reduce)').matches;
  const box = element.getBoundingClientRect();
  if (box.bottom < 80 || box.top > innerHeight - 80) {
    element.scrollIntoView({ behavior: calm ? 'auto' : 'smooth' });
  }
}

async function start() {
  const page = JSON.parse($('page').textContent), root = document.documentElement;
  root.dataset.script = 'yes';
  const head = await opened($('head').textContent), bytes = await inflate($('data').textContent);
  const M = medium(head.heat);
  const sides = head.sides.map((one, n) => {
    const job = side(one, bytes, head.heat);
    const outlines = new Outlines(job.shapes, one.layers, one.parts);
    const cell = one.cells.pooled * Math.max(0, ...one.cells.widths);
    return { job, cell, past: past(job, M, grown(page.boxes[n], SPREAD)), outlines };
  });
  const shared = {
    base: page.base,
    boxes: page.boxes.map((box) => grown(box, MARGIN)),
    corner: head.page,
    glow: glowOf(page.ramp, page.top),
    longest: longestRow(sides.map((one) => one.job)),
    medium: M,
    placing: new Placing(page.placing),
    window: page.window,
  };
  offerPlaces();
  offerSpeeds();
  const app = new App(sides, shared, page.names), kept = keptState(location.hash);
  app.listen();
  app.setSpeed(kept.speed ?? 1);
  app.chose = kept.speed !== null;
  app.begin(kept);
  root.dataset.ready = 'yes';
  tellAround({ ready: true });
}

start().catch((error) => {
  delete document.documentElement.dataset.script;
  $('failed').hidden = false;
  throw error;
});
