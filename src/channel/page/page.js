// Shows what the program sends to each phone, hands over what is typed and
// tapped, and moves the demo clock. Every text is inserted as text, never as markup.
"use strict";

// The page's own words. Messages come from the program in the household's language.
const WORDS = {
  en: {
    title: "vialbell: a demonstration on two phones",
    job: "Reminds an owner of every injection at the right local time, keeps the books of every vial, and calls the clinic in for everything else.",
    demonstration: "Demonstration",
    caution: "The clinic, the animal, the product and every figure are invented. Nothing here is meant for a real animal.",
    languageOfPage: "Language of this page",
    demoClock: "Demo clock",
    moveClock: "Move the clock",
    nextEvent: "Next event",
    plusHour: "+1 hour",
    plusDay: "+1 day",
    setClock: "Set",
    moveOnTo: "Move on to",
    go: "Go",
    badTime: "Write a time of the day, like 19:30.",
    otherLanguage: "The owner here reads Spanish.",
    beginAgain: "Begin again in English",
    liveThrough: "Live through",
    whichPhone: "Which phone is shown",
    truth: "What the program holds to be true",
    vials: "Vials at home",
    next: "What it will do next",
    journal: "Last lines of the journal",
    foot: "Both phones, the clock and the database run on this computer; nothing is sent anywhere. The program never advises: what it cannot compute from the veterinarian’s order goes to the clinic.",
    owner: "owner’s phone",
    clinic: "clinic’s phone",
    ownerTab: "Owner",
    clinicTab: "Clinic",
    unread: (n) => (n === 1 ? "1 new message" : `${n} new messages`),
    messagesOf: (name) => `Messages in the phone of ${name}`,
    empty: "No message yet. Move the clock to the next event.",
    program: "The program:",
    holder: (name) => `${name}:`,
    tapped: "Answered:",
    writeAs: (name) => `Write as ${name}`,
    placeholder: "Write a message",
    send: "Send",
    examples: "Examples to send",
    decimal: ".",
    vial: (n) => `Vial ${n}`,
    ofMl: (left, all) => `${left} of ${all} mL`,
    leftMl: (left) => `${left} mL`,
    discardBy: "Discard by",
    noVials: "No vial is recorded.",
    noNext: "Nothing is planned.",
    noJournal: "Nothing is recorded yet.",
    clockShows: (when) => `The clock shows ${when}`,
    lost: "The connection to the program is lost. Trying again…",
    failed: "That did not reach the program. Please try again.",
    gone: "That button is gone; it was answered already.",
    // What the books say, by key; a fact that is one of the terms is said in its words.
    lines: {
      "alert-ended": "Ended, says {by}: {ending}",
      "answered": "Answered by {by}",
      "asked-again": "Dose {dose} is asked for again",
      "carer-added": "{name} was named as a carer",
      "carer-joined": "A carer joined",
      "carer-removed": "A carer was taken off",
      "carer-unreachable": "A carer cannot be reached",
      "change-wanted": "{by} wants the order changed: {change}",
      "climbed": "Not seen: the next rung was told",
      "clinic-told": "The clinic was told: {kind}",
      "confirmed": "Order confirmed by {by}",
      "counted": "{pieces} {supply} at home",
      "course-ended": "The course ended",
      "dose-asked": "Dose {dose} was asked for",
      "dose-closed": "Dose {dose}: no answer in its window",
      "dose-due": "Dose {dose} of {doses} is due",
      "entered-in-error": "Record {record} was entered in error",
      "erased": "The people at home were erased by {by}",
      "given-from": "Dose {dose}: {volume} given by {by}, from vial {vials}",
      "given-from-several": "Dose {dose}: {volume} given by {by}, from vials {vials}",
      "given-from-unknown": "Dose {dose}: {volume} given by {by}, from no known vial",
      "goes-on": "The course goes on",
      "length-changed": "Order changed by {by}: {doses} doses",
      "level-seen": "Vial {vial}: {volume} seen",
      "limit-reached": "Vial {vial}: limit reached",
      "looks": "It looks at limits, supplies and what the clinic has not seen",
      "not-given": "Dose {dose}: not given, says {by}",
      "order-changed": "Order changed by {by}: {volume} a dose, {doses} doses, from dose {from} on",
      "ordered": "Ordered: {product} {ordered}, {volume} a dose, {doses} doses",
      "patient-added": "{name}, {species}, {weight}",
      "paused": "Paused by {by}",
      "resumed": "Resumed by {by}, from dose {from} on",
      "seen": "Seen by {by}",
      "stopped": "The course was ended by {by}",
      "supply-told": "Told that supplies will not last",
      "vial-back": "Vial {vial} is back in the refrigerator",
      "vial-discarded": "Vial {vial} discarded",
      "vial-known": "Record {record}: its vial is known now",
      "vial-mixed": "Vial {vial} mixed, {volume}",
      "vial-out": "Vial {vial} is out of the refrigerator",
      "vial-reaches-limit": "Vial {vial} reaches its limit",
      "warned-ahead": "Vial {vial}: warned {hours} h ahead",
      "window-closes": "Dose {dose}: its window closes, the clinic is told",
      "zone-changed": "The clock is that of {zone} now",
    },
    terms: {
      "reached-owner": "the owner was reached",
      "no-answer": "no answer",
      "given-late-on-order": "given late on order",
      "left-out-on-order": "left out on order",
      "comes-in": "the owner comes in",
      "handed-out": "handed out",
      "otherwise": "otherwise",
      "clinic.emergency": "signs of an emergency",
      "clinic.level-differs": "a level that differs from the books",
      "clinic.missed-dose": "a missed dose",
      "clinic.outage": "doses that could not be asked for",
      "clinic.question": "an owner’s words",
      "clinic.supply-low": "supplies that will not last",
      "clinic.unreachable": "a carer who cannot be reached",
      "clinic.vial-past-limit": "a dose from a vial past its limit",
    },
    states: { sealed: "Powder, not mixed", mixed: "Mixed", "past-limit": "Past its limit", empty: "Empty", discarded: "Discarded" },
    situations: {},
  },
  es: {
    title: "vialbell: una demostración en dos teléfonos",
    job: "Recuerda al dueño cada inyección a la hora local correcta, lleva la cuenta de cada vial y llama a la clínica para todo lo demás.",
    demonstration: "Demostración",
    caution: "La clínica, el animal, el producto y todas las cifras son inventados. Nada de esto sirve para un animal real.",
    languageOfPage: "Idioma de esta página",
    demoClock: "Reloj de la demostración",
    moveClock: "Mover el reloj",
    nextEvent: "Próximo evento",
    plusHour: "+1 hora",
    plusDay: "+1 día",
    setClock: "Poner",
    moveOnTo: "Adelantar hasta las",
    go: "Ir",
    badTime: "Escriba una hora del día, como 19:30.",
    otherLanguage: "El dueño de esta situación lee inglés.",
    beginAgain: "Empezar de nuevo en español",
    liveThrough: "Viva esta situación",
    whichPhone: "Qué teléfono se muestra",
    truth: "Lo que el programa da por cierto",
    vials: "Viales en casa",
    next: "Lo que hará después",
    journal: "Últimas líneas del registro",
    foot: "Los dos teléfonos, el reloj y la base de datos están en este equipo; nada se envía a ninguna parte. El programa nunca aconseja: lo que no puede calcular a partir de la orden del veterinario pasa a la clínica.",
    owner: "teléfono del dueño",
    clinic: "teléfono de la clínica",
    ownerTab: "Dueño",
    clinicTab: "Clínica",
    unread: (n) => (n === 1 ? "1 mensaje nuevo" : `${n} mensajes nuevos`),
    messagesOf: (name) => `Mensajes en el teléfono de ${name}`,
    empty: "Aún no hay mensajes. Mueva el reloj al próximo evento.",
    program: "El programa:",
    holder: (name) => `${name}:`,
    tapped: "Respuesta:",
    writeAs: (name) => `Escribir como ${name}`,
    placeholder: "Escriba un mensaje",
    send: "Enviar",
    examples: "Ejemplos para enviar",
    decimal: ",",
    vial: (n) => `Vial ${n}`,
    ofMl: (left, all) => `${left} de ${all} mL`.replaceAll(".", ","),
    leftMl: (left) => `${left} mL`.replace(".", ","),
    discardBy: "Desechar antes del",
    noVials: "No hay ningún vial registrado.",
    noNext: "No hay nada previsto.",
    noJournal: "Aún no hay nada registrado.",
    clockShows: (when) => `El reloj marca ${when}`,
    lost: "Se perdió la conexión con el programa. Intentando de nuevo…",
    failed: "Eso no llegó al programa. Inténtelo de nuevo.",
    gone: "Ese botón ya no está; ya se respondió.",
    lines: {
      "alert-ended": "Cerrado, dice {by}: {ending}",
      "answered": "Respondió {by}",
      "asked-again": "Se vuelve a preguntar por la dosis {dose}",
      "carer-added": "{name} figura como cuidador",
      "carer-joined": "Se unió un cuidador",
      "carer-removed": "Se quitó a un cuidador",
      "carer-unreachable": "No se puede escribir a un cuidador",
      "change-wanted": "{by} quiere cambiar la orden: {change}",
      "climbed": "Nadie lo vio: se avisó al siguiente",
      "clinic-told": "Se avisó a la clínica: {kind}",
      "confirmed": "Orden confirmada por {by}",
      "counted": "{pieces} {supply} en casa",
      "course-ended": "Terminó el tratamiento",
      "dose-asked": "Se preguntó por la dosis {dose}",
      "dose-closed": "Dosis {dose}: sin respuesta en su margen",
      "dose-due": "Toca la dosis {dose} de {doses}",
      "entered-in-error": "El registro {record} era un error",
      "erased": "{by} borró a las personas de la casa",
      "given-from": "Dosis {dose}: {volume}, puesta por {by}, del vial {vials}",
      "given-from-several": "Dosis {dose}: {volume}, puesta por {by}, de los viales {vials}",
      "given-from-unknown": "Dosis {dose}: {volume}, puesta por {by}, de ningún vial conocido",
      "goes-on": "El tratamiento sigue",
      "length-changed": "{by} cambió la orden: {doses} dosis",
      "level-seen": "Vial {vial}: se ven {volume}",
      "limit-reached": "Vial {vial}: llegó a su límite",
      "looks": "Mira los límites, el material y lo que la clínica no ha visto",
      "not-given": "Dosis {dose}: no puesta, dice {by}",
      "order-changed": "{by} cambió la orden: {volume} por dosis, {doses} dosis, desde la dosis {from}",
      "ordered": "Orden: {product} {ordered}, {volume} por dosis, {doses} dosis",
      "patient-added": "{name}, {species}, {weight}",
      "paused": "Lo pausó {by}",
      "resumed": "Lo reanudó {by}, desde la dosis {from}",
      "seen": "Lo vio {by}",
      "stopped": "{by} terminó el tratamiento",
      "supply-told": "Se avisó de que el material no alcanzará",
      "vial-back": "El vial {vial} está de vuelta en el refrigerador",
      "vial-discarded": "Vial {vial} desechado",
      "vial-known": "Registro {record}: ya se sabe de qué vial",
      "vial-mixed": "Vial {vial} mezclado, {volume}",
      "vial-out": "El vial {vial} está fuera del refrigerador",
      "vial-reaches-limit": "El vial {vial} llega a su límite",
      "warned-ahead": "Vial {vial}: aviso con {hours} h de antelación",
      "window-closes": "Dosis {dose}: se cierra su margen y se avisa a la clínica",
      "zone-changed": "Ahora rige el reloj de {zone}",
    },
    terms: {
      "reached-owner": "se habló con el dueño",
      "no-answer": "sin respuesta",
      "given-late-on-order": "puesta tarde por orden",
      "left-out-on-order": "omitida por orden",
      "comes-in": "el dueño viene",
      "handed-out": "entregado",
      "otherwise": "de otro modo",
      "carer-added": "un cuidador más",
      "carer-removed": "un cuidador menos",
      "cat": "gato",
      "clinic.emergency": "señales de una emergencia",
      "clinic.level-differs": "un nivel que difiere de las cuentas",
      "clinic.missed-dose": "una dosis sin registrar",
      "clinic.outage": "dosis por las que no se pudo preguntar",
      "clinic.question": "palabras de un dueño",
      "clinic.supply-low": "material que no alcanzará",
      "clinic.unreachable": "un cuidador al que no se puede escribir",
      "clinic.vial-past-limit": "una dosis de un vial pasado de su límite",
      "diluent": "ampollas de diluyente",
      "dog": "perro",
      "dose": "la dosis",
      "ended": "fin",
      "length": "la duración",
      "needles": "agujas",
      "paused": "pausa",
      "resumed": "reanudar",
      "syringes": "jeringas",
      "times": "las horas",
      "vials": "viales",
      "zone": "la zona horaria",
    },
    states: { sealed: "Polvo, sin mezclar", mixed: "Mezclado", "past-limit": "Pasado de su límite", empty: "Vacío", discarded: "Desechado" },
    situations: {
      "normal-day": "Un día normal",
      "clocks-change": "Una noche de cambio de hora",
      "vial-limit": "Un vial que llega a su límite",
      "missed-dose": "Una dosis sin registrar",
      "clinic-message": "Un mensaje que debe ir a la clínica",
    },
  },
};

// What an owner might write, in the owner's language.
const EXAMPLES = {
  en: ["how much is left?", "when is the next dose?", "she is not eating"],
  es: ["¿cuánto queda?", "¿cuándo es la próxima dosis?", "no quiere comer"],
};

const KEPT = 300;

const state = {
  language: "en",
  scene: null,
  clock: null,
  messages: new Map(), // address -> entries, oldest first
  phones: new Map(), // address -> the elements of that phone
  shown: null, // address of the phone that a narrow screen shows
  unread: new Map(),
  replaying: true,
  moving: false,
};

const byId = (id) => document.getElementById(id);
const words = () => WORDS[state.language];

function element(tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
}

// Instants carry the household's offset. Their wall time is read from the text
// itself: the visitor's own zone must not move it.
function wall(at, language = state.language) {
  const parts = /^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d)(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)$/.exec(at);
  if (!parts) return null;
  const [, year, month, day, time, offset] = parts;
  const noon = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day), 12));
  const date = (form) => new Intl.DateTimeFormat(language, { ...form, timeZone: "UTC" }).format(noon);
  return {
    key: `${year}-${month}-${day}`,
    time,
    offset: offset === "Z" ? "+00:00" : offset,
    long: date({ weekday: "long", day: "numeric", month: "long", year: "numeric" }),
    day: date({ weekday: "long", day: "numeric", month: "long" }),
    short: `${date({ day: "numeric", month: "short" })} ${time}`,
  };
}

function when(at, className) {
  const read = wall(at);
  const shown = element("time", className, read ? read.short : at);
  if (read) shown.dateTime = at;
  return shown;
}

// Asking the program

async function post(path, body) {
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    trouble(answer.ok ? "" : answer.status === 409 ? words().gone : words().failed);
    return answer.ok;
  } catch {
    trouble(words().failed);
    return false;
  }
}

function trouble(text) {
  if (byId("trouble").textContent !== text) byId("trouble").textContent = text;
}

async function move(path, body) {
  if (state.moving) return;
  setMoving(true);
  // On a narrow screen: what happens now is seen in the phone, below the head.
  const desk = document.querySelector(".desk");
  if (matchMedia("(max-width: 899.98px)").matches && desk.getBoundingClientRect().top > 0) desk.scrollIntoView();
  await post(path, body);
  setMoving(false);
}

function begin(name) {
  return move("/situation", { name, language: state.language });
}

// As it is said and typed: 19:30, 7.05, 730.
function timeOfDay(text) {
  const parts = /^([01]?\d|2[0-3])[:.h ]?([0-5]\d)$/.exec(text.trim());
  return parts && `${parts[1].padStart(2, "0")}:${parts[2]}`;
}

async function setClock() {
  const input = byId("clock-to");
  const until = timeOfDay(input.value);
  if (until) {
    input.value = "";
    await move("/clock", { jump: { until } });
  } else {
    trouble(words().badTime);
    input.focus();
  }
}

function setMoving(moving) {
  state.moving = moving;
  // Not `disabled`: that would take the focus away from whoever pressed it.
  for (const button of document.querySelectorAll("[data-jump], [data-situation]")) {
    button.setAttribute("aria-disabled", String(moving));
  }
}

// Clock and situations

function showClock() {
  if (!state.clock) return;
  const read = wall(state.clock.at);
  byId("clock-time").textContent = read ? read.time : state.clock.words;
  byId("clock-time").dateTime = read ? state.clock.at : "";
  byId("clock-date").textContent = read ? read.long : "";
  byId("clock-zone").textContent = read ? `${state.clock.zone.replaceAll("_", " ")}, UTC${read.offset.replace("-", "−")}` : state.clock.zone;
  for (const phone of state.phones.values()) {
    const held = wall(state.clock.at, phone.person?.language);
    phone.clock.textContent = held ? `${held.long}, ${held.time}` : state.clock.words;
  }
}

function sayClock() {
  const read = wall(state.clock.at);
  byId("news").textContent = words().clockShows(read ? `${read.long}, ${read.time}` : state.clock.words);
}

function showSituations() {
  const list = byId("situations");
  const focused = list.contains(document.activeElement) ? document.activeElement.dataset.situation : null;
  const buttons = state.scene.situations.map(({ name, title }) => {
    const button = element("button", "", words().situations[name] ?? title);
    button.type = "button";
    button.dataset.situation = name;
    button.setAttribute("aria-pressed", String(name === state.scene.situation));
    button.setAttribute("aria-disabled", String(state.moving));
    button.addEventListener("click", () => begin(name));
    return button;
  });
  list.replaceChildren(...buttons);
  buttons.find((button) => button.dataset.situation === focused)?.focus();
}

// What the phones say stays in the language in which the situation was begun.
function showOtherLanguage() {
  const owner = state.scene.people.find((person) => person.role === "owner");
  byId("other-language").hidden = !owner || owner.language === state.language;
}

// Phones

function showPhones() {
  const people = state.scene.people;
  const held = people.map((person) => person.address).join("\n");
  if (held !== [...state.phones.keys()].join("\n")) {
    state.phones = new Map(people.map((person) => [person.address, makePhone(person)]));
    byId("phones").replaceChildren(...[...state.phones.values()].map((phone) => phone.root));
    for (const person of people) {
      for (const entry of state.messages.get(person.address) ?? []) addEntry(entry);
    }
  }
  if (!state.phones.has(state.shown)) state.shown = people[0]?.address;
  for (const person of people) namePhone(state.phones.get(person.address), person);
  showSwitch();
  showClock();
}

function makePhone(person) {
  const root = element("section", "phone");
  const head = element("div", "phone-head");
  const title = element("h2");
  title.id = `phone-${person.address}`;
  root.setAttribute("aria-labelledby", title.id);
  root.dataset.address = person.address;
  const clock = element("p", "phone-clock");
  head.append(title, clock);

  const log = element("div", "log");
  log.setAttribute("role", "log");
  log.setAttribute("aria-live", state.replaying ? "off" : "polite");
  log.tabIndex = 0;
  const empty = element("p", "log-empty");
  log.append(empty);

  const form = element("form", "write");
  const examples = element("div", "write-examples");
  examples.setAttribute("role", "group");
  const line = element("div", "write-line");
  const label = element("label", "unseen");
  const input = element("input");
  input.id = `write-${person.address}`;
  label.htmlFor = input.id;
  input.type = "text";
  input.autocomplete = "off";
  input.maxLength = 4096;
  input.enterKeyHint = "send";
  const send = element("button");
  send.type = "submit";
  line.append(label, input, send);
  form.append(examples, line);
  form.addEventListener("submit", async (submitted) => {
    submitted.preventDefault();
    const text = input.value.trim();
    if (!text) return input.focus();
    input.value = "";
    if (!(await post("/say", { to: person.address, text })) && !input.value) input.value = text;
  });
  root.append(head, log, form);
  return { root, title, clock, log, empty, examples, label, input, send, lastDay: null };
}

function namePhone(phone, person) {
  phone.person = person;
  phone.title.replaceChildren(person.name + " ", element("span", "", words()[person.role]));
  phone.clock.lang = person.language;
  phone.log.setAttribute("aria-label", words().messagesOf(person.name));
  phone.empty.textContent = words().empty;
  phone.label.textContent = words().writeAs(person.name);
  phone.input.placeholder = words().placeholder;
  phone.send.textContent = words().send;
  phone.root.classList.toggle("shown", person.address === state.shown);
  const examples = person.role === "owner" ? (EXAMPLES[person.language] ?? EXAMPLES.en) : [];
  phone.examples.hidden = examples.length === 0;
  phone.examples.replaceChildren();
  phone.examples.setAttribute("aria-label", words().examples);
  for (const text of examples) {
    const button = element("button", "", text);
    button.type = "button";
    button.lang = person.language;
    button.addEventListener("click", () => post("/say", { to: person.address, text }));
    phone.examples.append(button);
  }
}

function showSwitch() {
  const focused = byId("switch").contains(document.activeElement) ? document.activeElement.dataset.phone : null;
  const buttons = state.scene.people.map((person) => {
    const same = state.scene.people.filter((other) => other.role === person.role).length > 1;
    const button = element("button", "", same ? person.name : words()[`${person.role}Tab`]);
    button.type = "button";
    button.dataset.phone = person.address;
    button.setAttribute("aria-pressed", String(person.address === state.shown));
    const unread = state.unread.get(person.address) ?? 0;
    if (unread > 0 && person.address !== state.shown) {
      const count = element("span", "unread", String(unread));
      count.setAttribute("aria-hidden", "true");
      button.append(count, element("span", "unseen", ` (${words().unread(unread)})`));
    }
    button.addEventListener("click", () => pickPhone(person.address));
    return button;
  });
  byId("switch").replaceChildren(...buttons);
  buttons.find((button) => button.dataset.phone === focused)?.focus();
}

function pickPhone(address) {
  state.shown = address;
  state.unread.delete(address);
  for (const [held, phone] of state.phones) phone.root.classList.toggle("shown", held === address);
  showSwitch();
  toEnd(state.phones.get(address).log);
}

function isAtEnd(log) {
  return log.scrollHeight - log.scrollTop - log.clientHeight < 80;
}

function toEnd(log) {
  log.scrollTop = log.scrollHeight;
}

function addEntry(entry) {
  const phone = state.phones.get(entry.address);
  if (!phone) return;
  phone.empty.hidden = true;
  const atEnd = isAtEnd(phone.log);
  const read = wall(entry.at.at);
  if (read && read.key !== phone.lastDay) {
    phone.lastDay = read.key;
    const day = element("p", "day", read.day);
    day.dataset.at = entry.at.at;
    phone.log.append(day);
  }
  const row = element("div", `entry by-${entry.by}`);
  row.dataset.message = entry.id;
  if (!state.replaying) row.classList.add("entry-new");
  const time = element("time", "entry-time", read ? read.time : "");
  if (read) time.dateTime = entry.at.at;
  const body = element("div", "entry-body");
  const text = element("p", "entry-text");
  text.lang = phone.person?.language ?? "";
  text.append(element("span", "unseen", `${writer(entry, phone)} `), entry.text);
  body.append(text);
  row.append(time, body);
  phone.log.append(row);
  showButtons(row, entry);
  while (phone.log.querySelectorAll(".entry").length > KEPT) phone.log.querySelector(".entry").remove();
  if (atEnd || state.replaying || entry.by === "holder") toEnd(phone.log);
}

function writer(entry, phone) {
  if (entry.by === "program") return words().program;
  return words().holder(state.scene.people.find((person) => person.address === entry.address)?.signs ?? phone.title.textContent);
}

function showButtons(row, entry) {
  const body = row.querySelector(".entry-body");
  const old = body.querySelector(".entry-buttons");
  const hadFocus = old?.contains(document.activeElement);
  old?.remove();
  if (entry.buttons.length > 0) {
    const buttons = element("div", "entry-buttons");
    for (const { label, data } of entry.buttons) {
      const button = element("button", "", label);
      button.type = "button";
      button.addEventListener("click", () => {
        if (button.getAttribute("aria-disabled") === "true") return;
        tap(buttons, { to: entry.address, message: entry.id, data });
      });
      buttons.append(button);
    }
    body.append(buttons);
  }
  body.querySelector(".entry-chosen")?.remove();
  if (entry.chosen !== null) {
    const chosen = element("p", "entry-chosen");
    chosen.append(element("span", "unseen", `${words().tapped} `), entry.chosen);
    body.append(chosen);
  }
  // The button that was pressed is gone: stay in its phone.
  if (hadFocus) state.phones.get(entry.address).log.focus();
}

async function tap(buttons, body) {
  const set = (busy) => {
    for (const button of buttons.children) button.setAttribute("aria-disabled", String(busy));
  };
  set(true);
  if (!(await post("/tap", body))) set(false);
}

function rowOf(message) {
  return document.querySelector(`[data-message="${CSS.escape(message)}"]`);
}

// What the program holds to be true

let truthTimer = 0;
function refreshTruth() {
  clearTimeout(truthTimer);
  truthTimer = setTimeout(async () => {
    try {
      const answer = await fetch("/truth");
      if (answer.ok) showTruth(await answer.json());
    } catch {
      // The event stream says when the connection is lost.
    }
  }, 120);
}

let lastTruth = null;
function showTruth(truth) {
  lastTruth = truth;
  // Vials that are neither opened yet nor of use any more stand small on a shelf.
  const inUse = truth.vials.filter((held) => !["sealed", "empty", "discarded"].includes(held.state));
  byId("in-use").replaceChildren(...inUse.map(vial));
  byId("shelf").replaceChildren(...truth.vials.filter((held) => !inUse.includes(held)).map(vial));
  byId("no-vials").hidden = truth.vials.length > 0;
  fill("next", truth.next.map(line), words().noNext);
  fill("journal", truth.journal.map(line), words().noJournal);
  const journal = byId("journal");
  journal.scrollTop = journal.scrollHeight;
  // A list that scrolls must be reachable by keyboard.
  if (journal.scrollHeight > journal.clientHeight) journal.tabIndex = 0;
  else journal.removeAttribute("tabindex");
}

function fill(id, items, none) {
  byId(id).replaceChildren(...(items.length > 0 ? items : [element("li", "none", none)]));
}

function line({ at, key, facts }) {
  const item = element("li");
  const { lines, terms, decimal } = words();
  const said = (fact) => terms[fact] ?? fact.replace(/(\d)\.(\d)/g, `$1${decimal}$2`);
  const text = (lines[key] ?? key).replace(/\{(\w+)\}/g, (_, name) => said(facts[name] ?? ""));
  item.append(when(at, "when"), element("span", "what", text));
  return item;
}

function vial(held) {
  const over = ["past-limit", "empty", "discarded"].includes(held.state);
  const item = element("li", over ? "vial-over" : "");
  const about = element("div");
  about.append(element("p", "vial-name", words().vial(held.number)));
  about.append(element("p", "", words().states[held.state] ?? held.state));
  if (held.remaining_ml && ["mixed", "past-limit"].includes(held.state)) {
    const left = held.available_ml ? words().ofMl(held.remaining_ml, held.available_ml) : words().leftMl(held.remaining_ml);
    about.append(element("p", "vial-left", left));
  }
  if (held.discard_by && ["mixed", "past-limit"].includes(held.state)) {
    const limit = element("p", "", `${words().discardBy} `);
    limit.append(when(held.discard_by));
    about.append(limit);
  }
  item.append(drawVial(held, over), about);
  return item;
}

function drawVial(held, over) {
  const svg = (tag, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
    return made;
  };
  const drawn = svg("svg", { class: "vial", viewBox: "0 0 48 84", "aria-hidden": "true" });
  const [top, bottom] = [34, 80];
  drawn.append(svg("path", { class: "glass", d: "M17 16v6c0 4-11 5-11 12v42q0 6 6 6h24q6 0 6-6V34c0-7-11-8-11-12v-6z" }));
  drawn.append(svg("path", { class: "cap", d: "M14 3q0-1 1-1h18q1 0 1 1v9h-2v4H16v-4h-2z" }));
  const share = Math.min(1, Math.max(0, Number(held.remaining_ml) / Number(held.available_ml) || 0));
  if (held.state === "sealed") {
    drawn.append(svg("path", { class: "powder", d: "M8.5 76v-6q8-5 15-3t16-1v10q0 3.5-3.5 3.5h-24q-3.5 0-3.5-3.5z" }));
  } else if (held.state !== "discarded" && share > 0) {
    const height = (bottom - top) * share;
    drawn.append(svg("rect", { class: "liquid", x: 8.5, y: bottom - height, width: 31, height, rx: 2.5 }));
  }
  for (let mark = 1; mark < 5; mark += 1) {
    const y = bottom - ((bottom - top) * mark) / 5;
    drawn.append(svg("line", { class: "mark", x1: 8, x2: mark % 2 ? 13 : 16, y1: y, y2: y }));
  }
  if (over && held.state !== "empty") drawn.append(svg("line", { class: "struck", x1: 4, y1: 82, x2: 44, y2: 30 }));
  return drawn;
}

// The page's language

function setLanguage(language) {
  state.language = language;
  document.documentElement.lang = language;
  document.title = words().title;
  for (const shown of document.querySelectorAll("[data-t]")) shown.textContent = words()[shown.dataset.t];
  for (const named of document.querySelectorAll("[data-t-label]")) named.setAttribute("aria-label", words()[named.dataset.tLabel]);
  for (const button of document.querySelectorAll("[data-language]")) {
    button.setAttribute("aria-pressed", String(button.dataset.language === language));
  }
  if (state.scene) {
    showSituations();
    showOtherLanguage();
    showPhones();
  }
  for (const day of document.querySelectorAll(".day")) day.textContent = wall(day.dataset.at).day;
  if (lastTruth) showTruth(lastTruth);
}

// What the program tells

function listen() {
  const events = new EventSource("/events");
  const on = (name, act) => events.addEventListener(name, (told) => act(JSON.parse(told.data)));
  const live = (way) => {
    for (const phone of state.phones.values()) phone.log.setAttribute("aria-live", way);
  };

  events.addEventListener("open", () => {
    trouble("");
    // What was said before is shown again and must not be read out again.
    state.replaying = true;
    live("off");
  });
  events.addEventListener("error", () => trouble(words().lost));

  on("reset", () => {
    state.messages.clear();
    state.unread.clear();
    for (const phone of state.phones.values()) {
      phone.log.replaceChildren(phone.empty);
      phone.empty.hidden = false;
      phone.lastDay = null;
    }
  });
  on("scene", (scene) => {
    state.scene = scene;
    state.clock = scene.now;
    showSituations();
    showOtherLanguage();
    showPhones();
    refreshTruth();
  });
  on("message", (entry) => {
    const entries = state.messages.get(entry.address) ?? [];
    state.messages.set(entry.address, entries);
    entries.push(entry);
    if (entries.length > KEPT) entries.shift();
    addEntry(entry);
    if (!state.replaying) {
      state.clock = entry.at;
      showClock();
      if (entry.by === "program" && !entry.quiet && entry.address !== state.shown) {
        state.unread.set(entry.address, (state.unread.get(entry.address) ?? 0) + 1);
        if (state.scene) showSwitch();
      }
    }
    refreshTruth();
  });
  on("buttons-changed", ({ message, buttons, chosen }) => {
    for (const entry of [...state.messages.values()].flat()) {
      if (entry.id !== message) continue;
      entry.buttons = buttons;
      entry.chosen = chosen;
      const row = rowOf(message);
      if (!row) continue;
      const { log } = state.phones.get(entry.address);
      const atEnd = isAtEnd(log);
      showButtons(row, entry);
      if (atEnd) toEnd(log);
    }
    refreshTruth();
  });
  on("withdrawn", ({ message }) => {
    for (const [address, entries] of state.messages) {
      state.messages.set(address, entries.filter((entry) => entry.id !== message));
    }
    rowOf(message)?.remove();
  });
  on("clock", (clock) => {
    state.clock = clock;
    showClock();
    sayClock();
    refreshTruth();
  });
  on("ready", () => {
    state.replaying = false;
    // Only after what was just inserted has been passed over.
    setTimeout(() => live("polite"), 300);
    for (const phone of state.phones.values()) toEnd(phone.log);
  });
}

for (const button of document.querySelectorAll("[data-jump]")) {
  button.addEventListener("click", () => move("/clock", { jump: button.dataset.jump }));
}
byId("clock-set").addEventListener("submit", (submitted) => {
  submitted.preventDefault();
  setClock();
});
byId("clock-open").addEventListener("click", () => {
  const open = byId("clock-open").getAttribute("aria-expanded") !== "true";
  byId("clock-open").setAttribute("aria-expanded", String(open));
  if (open) byId("clock-to").focus();
});
byId("begin-again").addEventListener("click", () => begin(state.scene.situation));
for (const button of document.querySelectorAll("[data-language]")) {
  button.addEventListener("click", () => setLanguage(button.dataset.language));
}
setLanguage(navigator.language.startsWith("es") ? "es" : "en");
listen();
