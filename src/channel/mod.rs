//! Ways in and out. A channel turns a platform's messages into [`Arrival`]s
//! and our outgoing texts into the platform's; it decides nothing.

pub mod page;
pub mod script;
pub mod telegram;

use crate::domain::arrival::Arrival;
use futures_util::future::BoxFuture;
use std::time::Duration;

/// A text on its way to one chat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outgoing {
    /// The platform's address of the chat.
    pub address: String,
    /// The sentence, plain text.
    pub text: String,
    /// The buttons below it: what they say and the data that comes back.
    pub buttons: Vec<OutgoingButton>,
    /// A file that goes with it.
    pub attachment: Option<Attachment>,
    /// Whether the phone should stay silent (a repeat of what it rang for already).
    pub quiet: bool,
}

/// A file that goes with a text.
#[derive(Clone, PartialEq, Eq)]
pub struct Attachment {
    /// The file's name.
    pub name: String,
    /// Whether it is a picture to be shown, and not a file to be opened.
    pub picture: bool,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl std::fmt::Debug for Attachment {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} ({} bytes)", self.name, self.bytes.len())
    }
}

/// A button as the platform sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutgoingButton {
    /// What it says.
    pub label: String,
    /// What comes back when it is tapped: at most 64 bytes.
    pub data: String,
}

/// How an attempt to send ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sent {
    /// The platform took it and gave it a number.
    Accepted {
        /// The platform's number for the message.
        external_id: String,
    },
    /// The platform asks to wait.
    Later {
        /// How long to wait.
        after: Duration,
    },
    /// The chat is closed to us: blocked, left, deleted, never opened.
    Gone {
        /// The platform's words.
        why: String,
    },
    /// The chat goes on under another address; it was not sent.
    Moved {
        /// The new address.
        to: String,
    },
    /// The platform will never take this message.
    Refused {
        /// The platform's words.
        why: String,
    },
    /// The connection failed: it may or may not have arrived.
    Unclear {
        /// What failed, without any secret in it.
        why: String,
    },
}

/// A way out.
pub trait Channel: Send + Sync {
    /// The name by which chats of this channel are stored.
    fn name(&self) -> &'static str;

    /// Whether the platform limits how fast we may speak.
    fn is_paced(&self) -> bool {
        false
    }

    /// Whether a person can answer one message among many, so that a text
    /// which answers none is not meant for us.
    fn has_replies(&self) -> bool {
        false
    }

    /// Whether the platform numbers the people who write, so that one can be
    /// told from another whatever they call themselves.
    fn numbers_people(&self) -> bool {
        false
    }

    /// Whether files go with texts there.
    fn takes_files(&self) -> bool {
        false
    }

    /// Changes the buttons below a message that was sent; where phones show no
    /// buttons there is nothing to do.
    fn change_buttons<'a>(
        &'a self,
        _address: &'a str,
        external_id: &'a str,
        _buttons: &'a [OutgoingButton],
    ) -> BoxFuture<'a, Sent> {
        let external_id = external_id.to_owned();
        Box::pin(std::future::ready(Sent::Accepted { external_id }))
    }

    /// Tries once.
    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent>;
}

/// Where a channel puts what it received.
///
/// A channel hands over a batch and waits: only when this returns `Ok` is the
/// batch on disk, and only then may the platform be told that it arrived.
pub trait Inbox: Send + Sync {
    /// The platform answered, whether or not it had something for us.
    fn reached(&self) {}

    /// Stores a batch; what was stored before (same external id) is not stored again.
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>>;
}
