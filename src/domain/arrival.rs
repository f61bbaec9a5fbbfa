//! What reaches us from a chat, before anybody has understood it.

use serde::{Deserialize, Serialize};

/// One thing that a platform handed over, in the platform's own order.
///
/// It is stored as it came before it is looked at, so it holds no decision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Arrival {
    /// The platform's own number for it: the same thing handed over twice carries the same one.
    pub external_id: String,
    /// Where an answer goes: the platform's address of the chat.
    pub address: String,
    /// How the platform names the person who wrote, where it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sender: Option<String>,
    /// The platform's number of that person, where it has one: names can be borrowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sender_id: Option<String>,
    /// The number of our message that it answers, where the platform says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reply_to: Option<String>,
    /// What came.
    pub body: Body,
}

impl Arrival {
    /// The same without NUL characters, which PostgreSQL keeps in no text (its
    /// documentation, 8.3 "Character Types"): the row could be neither decided
    /// on nor put aside. A replacement character shows where one was.
    #[must_use]
    pub fn without_nul(mut self) -> Arrival {
        let texts = [&mut self.external_id, &mut self.address].into_iter();
        let texts = texts.chain(&mut self.sender).chain(&mut self.sender_id);
        let texts = texts.chain(&mut self.reply_to);
        let words = match &mut self.body {
            Body::Text(text)
            | Body::Edited(text)
            | Body::Tap(text)
            | Body::Join(text)
            | Body::Moved { to: text } => Some(text),
            Body::Medium { caption, .. } => caption.as_mut(),
            Body::Place { .. } | Body::Gone | Body::Back => None,
        };
        for text in texts.chain(words).filter(|text| text.contains('\0')) {
            *text = text.replace('\0', "\u{FFFD}");
        }
        self
    }
}

/// What came.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Body {
    /// A text as typed.
    Text(String),
    /// An earlier text, changed; the new wording.
    Edited(String),
    /// A button's data, as [`super::message::Tap::encode`] wrote it, or forged.
    Tap(String),
    /// An invitation's code.
    Join(String),
    /// Something that is no text and that only a person can look at.
    Medium {
        /// What it is.
        what: Medium,
        /// The words below it, where there are some.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        caption: Option<String>,
    },
    /// A place on the map, in millionths of a degree north and east.
    Place {
        /// Millionths of a degree north.
        north: i64,
        /// Millionths of a degree east.
        east: i64,
    },
    /// The person closed the chat to us, or the chat is gone.
    Gone,
    /// The person opened the chat to us again.
    Back,
    /// The chat goes on under another address.
    Moved {
        /// The new address.
        to: String,
    },
}

impl Body {
    /// What came, without what is in it: for the log.
    pub fn name(&self) -> &'static str {
        match self {
            Body::Text(_) => "text",
            Body::Edited(_) => "edited",
            Body::Tap(_) => "tap",
            Body::Join(_) => "join",
            Body::Medium { .. } => "medium",
            Body::Place { .. } => "place",
            Body::Gone => "gone",
            Body::Back => "back",
            Body::Moved { .. } => "moved",
        }
    }
}

/// Something that is no text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Medium {
    /// A picture.
    Photo,
    /// Moving pictures.
    Video,
    /// Recorded speech or another sound.
    Voice,
    /// A sticker or a moving image.
    Sticker,
    /// A file.
    File,
    /// Anything else.
    Other,
}
