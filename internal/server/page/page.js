// Shows the state that /events sends. Figures come as text from the server: this
// page works out none of its own.
"use strict";

const oldAfterMS = 3000;
const keepHappened = 20;
let lastState = 0; // by performance.now(), which no setting of the clock moves
let refused = false;
let timezone = "UTC";

const at = (id) => document.getElementById(id);

function element(tag, text, className) {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (className) e.className = className;
  return e;
}

function clock(stamp) {
  return stamp ? new Date(stamp).toLocaleTimeString("en-GB", { timeZone: timezone }) : "at an unknown time";
}

function alarmItem(alarm) {
  const item = element("li", "", "alarm " + alarm.severity);
  item.append(element("strong", alarm.severity + ": "), alarm.text + " "); // not by colour alone
  item.append(element("span", "since " + clock(alarm.since), "when"));
  return item;
}

function showAlarms(alarms) {
  const items = alarms.map(alarmItem);
  const list = at("alarms");
  const next = element("ul");
  next.append(...(items.length ? items : [element("li", "none")]));
  if (list.innerHTML !== next.innerHTML) list.replaceChildren(...next.childNodes); // a screen reader hears only changes
}

function showGroups(rows) {
  const cards = new Map();
  for (const row of rows) {
    let list = cards.get(row.group);
    if (!list) {
      list = element("dl");
      cards.set(row.group, list);
    }
    list.append(element("dt", row.name), element("dd", row.value));
  }
  at("groups").replaceChildren(...[...cards].map(([name, list]) => {
    const card = element("section");
    card.append(element("h2", name), list);
    return card;
  }));
}

function showSources(sources) {
  at("sources").replaceChildren(...sources.map((s) => {
    const row = element("tr");
    const state = s.up ? "open" + (s.baud ? ", " + s.baud + " baud" : "") : "lost: " + (s.last_error || "not opened yet");
    row.append(element("td", s.name), element("td", state, s.up ? "" : "critical"),
      element("td", String(s.lines)), element("td", String(s.reconnects)), element("td", s.address));
    return row;
  }));
}

function happened(when, text, className) {
  const item = element("li", "", className);
  item.append(element("span", clock(when) + " ", "when"), text);
  const list = at("happened");
  list.prepend(item);
  while (list.children.length > keepHappened) list.lastChild.remove();
}

function showAge() {
  const age = performance.now() - lastState;
  const old = lastState === 0 || age > oldAfterMS;
  document.body.classList.toggle("old", old);
  if (lastState === 0) {
    if (refused) at("age").textContent = "the daemon does not answer; trying again";
  } else {
    at("age").textContent = old ? "these figures are " + Math.round(age / 1000) + " s old" : "live";
  }
}

const events = new EventSource("/events");
events.addEventListener("error", () => { refused = true; });
events.addEventListener("state", (e) => {
  const state = JSON.parse(e.data);
  lastState = performance.now();
  timezone = state.timezone;
  showAlarms(state.alarms);
  showGroups(state.shown);
  showSources(state.sources);
  showAge();
});
events.addEventListener("alarm", (e) => {
  const change = JSON.parse(e.data);
  happened(change.time, (change.raised ? "" : "over: ") + change.alarm.text, change.raised ? change.alarm.severity : "");
});
events.addEventListener("mark", (e) => {
  const event = JSON.parse(e.data);
  happened(event.time, "mark: " + event.mark.kind + (event.mark.note ? ", " + event.mark.note : ""));
});
events.addEventListener("missed", (e) => {
  happened(null, JSON.parse(e.data).notices + " earlier notices are not kept any more");
});
setInterval(showAge, 500);
