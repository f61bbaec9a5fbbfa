//! A channel without a platform: what is sent is kept, chat by chat.

use super::{Channel, Outgoing, Sent};
use futures_util::future::BoxFuture;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The channel of a rehearsal.
#[derive(Debug, Default)]
pub struct ScriptChannel {
    chats: Mutex<Chats>,
}

#[derive(Debug, Default)]
struct Chats {
    sent: BTreeMap<String, Vec<Outgoing>>,
    closed: BTreeSet<String>,
    count: u64,
}

impl ScriptChannel {
    fn chats(&self) -> MutexGuard<'_, Chats> {
        self.chats.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The data of the newest button with a label in a chat.
    pub fn button(&self, address: &str, label: &str) -> Option<String> {
        let chats = self.chats();
        let sent = chats.sent.get(address)?;
        sent.iter()
            .rev()
            .flat_map(|message| &message.buttons)
            .find(|button| button.label == label)
            .map(|button| button.data.clone())
    }

    /// Closes a chat, as an owner does who blocks a bot.
    pub fn close(&self, address: &str) {
        self.chats().closed.insert(address.into());
    }

    /// Opens a chat that was closed.
    pub fn open(&self, address: &str) {
        self.chats().closed.remove(address);
    }
}

impl Channel for ScriptChannel {
    fn name(&self) -> &'static str {
        "script"
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        let mut chats = self.chats();
        let sent = if chats.closed.contains(&message.address) {
            Sent::Gone {
                why: "the chat is closed".into(),
            }
        } else {
            chats.count += 1;
            let external_id = chats.count.to_string();
            chats
                .sent
                .entry(message.address.clone())
                .or_default()
                .push(message.clone());
            Sent::Accepted { external_id }
        };
        Box::pin(std::future::ready(sent))
    }
}
