//! The phones' memory, and the way from the engine to every open browser.

use super::{NAME, Shown};
use crate::channel::{Channel, Outgoing, OutgoingButton, Sent};
use futures_util::future::BoxFuture;
use serde::Serialize;
use std::collections::{BTreeMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};
use tokio::sync::broadcast;

/// How many messages each phone remembers.
pub const HISTORY: usize = 300;

/// How many notices a slow browser may be behind before it has to start over.
const BACKLOG: usize = 1024;

/// The channel of the page: messages go into the phones' memory and to every
/// browser that is open.
pub struct PageChannel {
    now: Box<dyn Fn() -> Shown + Send + Sync>,
    /// Tells this run's numbers from those of another run over the same database.
    run: String,
    phones: Mutex<Phones>,
    live: broadcast::Sender<Notice>,
}

#[derive(Default)]
struct Phones {
    /// Numbers given out so far, in this run.
    numbers: u64,
    situation: Option<String>,
    by_address: BTreeMap<String, VecDeque<Entry>>,
}

/// What a browser is told.
#[derive(Debug, Clone)]
pub(super) enum Notice {
    /// All phones are empty.
    Reset,
    /// Who is there, and in which situation; `None` is the one it opens with.
    Scene {
        situation: Option<String>,
    },
    Message(Entry),
    /// What is left of a message's buttons, and what the one said that was tapped.
    ButtonsChanged {
        message: String,
        buttons: Vec<EntryButton>,
        chosen: Option<String>,
    },
    /// Words that were shown and then not accepted.
    Withdrawn {
        message: String,
    },
    Clock(Shown),
    /// Everything so far has been told; what follows happens now.
    Ready,
}

impl Notice {
    pub(super) fn name(&self) -> &'static str {
        match self {
            Notice::Reset => "reset",
            Notice::Scene { .. } => "scene",
            Notice::Message(_) => "message",
            Notice::ButtonsChanged { .. } => "buttons-changed",
            Notice::Withdrawn { .. } => "withdrawn",
            Notice::Clock(_) => "clock",
            Notice::Ready => "ready",
        }
    }
}

/// One message in a phone.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Entry {
    id: String,
    address: String,
    by: Writer,
    text: String,
    buttons: Vec<EntryButton>,
    /// What the button said that was tapped.
    chosen: Option<String>,
    quiet: bool,
    at: Shown,
}

#[derive(Debug, Clone, Copy, Serialize)]
#[serde(rename_all = "kebab-case")]
enum Writer {
    /// The program.
    Program,
    /// Whoever holds the phone.
    Holder,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct EntryButton {
    label: String,
    data: String,
}

/// Whether a button that is said to have been tapped was there to tap.
pub(super) enum Tapped {
    /// It was, and it said this.
    Shown(String),
    Gone,
}

impl PageChannel {
    /// Empty phones. `now` is the demo clock; it is asked while a message is
    /// being sent, so it must not wait for the engine.
    ///
    /// # Panics
    /// When the machine has no randomness to give.
    pub fn new(now: impl Fn() -> Shown + Send + Sync + 'static) -> PageChannel {
        let run = getrandom::u32().expect("the machine has no randomness to give");
        PageChannel {
            now: Box::new(now),
            run: format!("{run:08x}"),
            phones: Mutex::default(),
            live: broadcast::channel(BACKLOG).0,
        }
    }

    /// Empties every phone, here and in the browsers.
    pub fn start_again(&self) {
        let mut phones = self.phones();
        phones.by_address.clear();
        self.tell(Notice::Reset);
    }

    /// Shows the clock as it now stands. The router does so after each move; a
    /// stage may do so on the way.
    pub fn show_clock(&self) {
        self.tell(Notice::Clock((self.now)()));
    }

    pub(super) fn set_scene(&self, situation: &str) {
        let mut phones = self.phones();
        phones.situation = Some(situation.to_owned());
        let situation = phones.situation.clone();
        self.tell(Notice::Scene { situation });
    }

    /// Everything up to now, and all that follows, with nothing between lost or told twice.
    pub(super) fn watch(&self) -> (Vec<Notice>, broadcast::Receiver<Notice>) {
        let phones = self.phones();
        let situation = phones.situation.clone();
        let mut notices = vec![Notice::Reset, Notice::Scene { situation }];
        let entries = phones.by_address.values().flatten().cloned();
        notices.extend(entries.map(Notice::Message));
        notices.push(Notice::Ready);
        (notices, self.live.subscribe())
    }

    /// Shows a person's own words in their phone, and numbers them.
    pub fn own_words(&self, address: &str, text: &str) -> String {
        self.write(address, Writer::Holder, text, Vec::new(), true)
    }

    /// Takes words back that could not be accepted.
    pub(super) fn withdraw(&self, message: &str) {
        let mut phones = self.phones();
        for entries in phones.by_address.values_mut() {
            entries.retain(|entry| entry.id != message);
        }
        self.tell(Notice::Withdrawn {
            message: message.to_owned(),
        });
    }

    /// Looks whether that phone shows that button.
    pub(super) fn button(&self, address: &str, message: &str, data: &str) -> Tapped {
        let phones = self.phones();
        let entries = phones.by_address.get(address).into_iter().flatten();
        let buttons = entries
            .filter(|entry| entry.id == message)
            .flat_map(|entry| &entry.buttons);
        let mut shown = buttons.filter(|button| button.data == data);
        match shown.next() {
            Some(button) => Tapped::Shown(button.label.clone()),
            None => Tapped::Gone,
        }
    }

    /// Replaces a button by the note that it was chosen; what becomes of the
    /// others is decided elsewhere, and may have been decided already.
    pub(super) fn choose(&self, message: &str, data: &str, label: String) {
        self.edit(message, |entry| {
            entry.buttons.retain(|button| button.data != data);
            entry.chosen = Some(label);
        });
    }

    fn edit(&self, message: &str, change: impl FnOnce(&mut Entry)) {
        let mut phones = self.phones();
        let mut entries = phones.by_address.values_mut().flatten();
        let Some(entry) = entries.find(|entry| entry.id == message) else {
            return;
        };
        change(entry);
        let notice = Notice::ButtonsChanged {
            message: message.to_owned(),
            buttons: entry.buttons.clone(),
            chosen: entry.chosen.clone(),
        };
        self.tell(notice);
    }

    fn write(
        &self,
        address: &str,
        by: Writer,
        text: &str,
        buttons: Vec<EntryButton>,
        quiet: bool,
    ) -> String {
        let at = (self.now)();
        let mut phones = self.phones();
        phones.numbers += 1;
        let entry = Entry {
            id: format!("{}-{}", self.run, phones.numbers),
            address: address.to_owned(),
            by,
            text: text.to_owned(),
            buttons,
            chosen: None,
            quiet,
            at,
        };
        let id = entry.id.clone();
        let entries = phones.by_address.entry(address.to_owned()).or_default();
        entries.push_back(entry.clone());
        if entries.len() > HISTORY {
            entries.pop_front();
        }
        self.tell(Notice::Message(entry));
        id
    }

    fn phones(&self) -> MutexGuard<'_, Phones> {
        // A panic elsewhere leaves whole entries behind, never half ones.
        self.phones.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn tell(&self, notice: Notice) {
        // No browser is open: the phones remember.
        let _ = self.live.send(notice);
    }
}

impl Channel for PageChannel {
    fn name(&self) -> &'static str {
        NAME
    }

    fn change_buttons<'a>(
        &'a self,
        _address: &'a str,
        external_id: &'a str,
        buttons: &'a [OutgoingButton],
    ) -> BoxFuture<'a, Sent> {
        self.edit(external_id, |entry| {
            entry
                .buttons
                .retain(|shown| buttons.iter().any(|left| left.data == shown.data));
        });
        let external_id = external_id.to_owned();
        Box::pin(std::future::ready(Sent::Accepted { external_id }))
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        Box::pin(async move {
            let buttons = message.buttons.iter().map(|button| EntryButton {
                label: button.label.clone(),
                data: button.data.clone(),
            });
            let external_id = self.write(
                &message.address,
                Writer::Program,
                &message.text,
                buttons.collect(),
                message.quiet,
            );
            Sent::Accepted { external_id }
        })
    }
}
