"use strict";
// Shows the states that the server sends. Nothing moves but by them; no text becomes markup.

const get = (id) => document.getElementById(id);
let stream = null, state = null;

const counted = (number, noun) => `${number} ${noun}${number === 1 ? "" : "s"}`;

function item(label, text) {
  const line = document.createElement("li");
  if (label) {
    const name = document.createElement("strong");
    name.textContent = label;
    line.append(name, " ");
    line.className = label;
  }
  line.append(text);
  return line;
}

function mistake({ place, text }) {
  const line = document.createElement("li");
  if (place) {
    const where = document.createElement("code");
    where.textContent = place;
    line.append(where);
  }
  line.append(text);
  return line;
}

function headline() {
  const { run, busy, saved, mistakes, failure } = state;
  if (busy) return saved.length
    ? `Run ${run} is under way: ${saved.join(", ")} was saved.`
    : `Run ${run} is under way.`;
  if (failure) return `Run ${run} was not finished.`;
  if (mistakes.length) return `Run ${run} found ${counted(mistakes.length, "mistake")}.`;
  return `Run ${run} is done. Save a file, and it runs again.`;
}

function showWrong() {
  const { mistakes, failure, pictures } = state;
  const said = failure ? [{ place: "", text: failure }] : mistakes;
  const older = Object.keys(pictures).length ? " The pictures below are of an earlier run." : "";
  get("wrong-title").textContent = said.length
    ? (failure ? "No result." : "Nothing can be written like this.") + older : "";
  get("mistakes").replaceChildren(...said.map(mistake));
  get("wrong").hidden = !said.length;
}

function showFindings() {
  const { findings, found_by: by } = state;
  const notes = findings.filter((one) => one.label === "note");
  const others = findings.filter((one) => one.label !== "note");
  get("findings").hidden = by === 0;
  get("findings-of").textContent = ofRun(by) + (findings.length ? "" : " None.");
  get("warnings").replaceChildren(...others.map((one) => item(one.label, one.text)));
  get("notes").hidden = !notes.length;
  get("notes-title").textContent = counted(notes.length, "note");
  get("notes-list").replaceChildren(...notes.map((one) => item("", one.text)));
}

const ofRun = (run) => (run === state.run ? `Of run ${run}.` : `Of run ${run}, not of the last save.`);

function showPicture(view) {
  const shown = state.pictures[view], section = get(view);
  section.hidden = !shown;
  if (!shown) return;
  section.classList.toggle("old", shown.run !== state.run);
  get(`${view}-of`).textContent = ofRun(shown.run)
    + (shown.coarse ? " A quick look; the full prediction follows." : "");
  const image = get(`${view}-image`);
  if (image.getAttribute("src") !== shown.address) {
    image.src = shown.address;
    get(`${view}-link`).href = shown.address;
  }
}

// The frames of the beam played back: the one that is shown, and the one that is not ready yet.
// A frame tells what is looked at, and the next one begins there.
const frames = { shown: null, coming: null, address: "", looked: "" };

function showPlayback() {
  const playback = state.pictures.playback;
  get("playback").hidden = !playback;
  if (!playback) return;
  if (playback.address !== frames.address) bring(playback);
  get("playback-of").textContent = ofRun(Number((frames.shown ?? frames.coming).dataset.run));
}

function bring({ address, run }) {
  const frame = document.createElement("iframe");
  frame.title = "The beam played back, as drawn beside as rewritten";
  frame.sandbox = "allow-scripts";
  frame.dataset.run = run;
  frame.src = address + frames.looked;
  frame.className = frames.shown ? "coming" : "";
  frames.coming?.remove();
  frames.coming = frame;
  frames.address = address;
  get("playback-link").href = address;
  get("frames").append(frame);
}

function ready() {
  const focused = document.activeElement === frames.shown;
  frames.shown?.remove();
  frames.shown = frames.coming;
  frames.coming = null;
  frames.shown.className = "";
  if (focused) frames.shown.focus();
  showPlayback();
}

addEventListener("message", ({ source, data }) => {
  if (source === frames.coming?.contentWindow && data?.ready === true) ready();
  if (source === frames.shown?.contentWindow && /^#[\w=&.,-]*$/.test(data?.state)) {
    frames.looked = data.state;
  }
});

function show(newest) {
  state = newest;
  get("title").textContent = state.title || get("title").textContent;
  get("state").textContent = headline();
  get("note").textContent = state.note;
  get("note").hidden = !state.note;
  showWrong();
  showFindings();
  showPicture("changes");
  showPicture("heat");
  showPlayback();
  const says = state.pictures.heat?.says;
  get("heat-says").textContent = says ? `${says[0].toUpperCase()}${says.slice(1)}.` : "";
  const short = state.busy ? "working" : state.failure || state.mistakes.length ? "mistake" : "done";
  document.title = `${short}: ${get("title").textContent}`;
  get("job").dataset.run = state.busy ? "" : String(state.run);
}

function listen() {
  if (stream || document.hidden) return;
  stream = new EventSource("states");
  stream.onmessage = (event) => show(JSON.parse(event.data));
  stream.onerror = () => {
    const gone = stream.readyState === EventSource.CLOSED;
    get("state").textContent = gone
      ? "No answer: too many pages watch this job. Close some, then load this page again."
      : "evenmark does not answer. What is below may be out of date.";
    if (gone) stream = null;
  };
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden) return listen();
  stream?.close();
  stream = null;
});
listen();
