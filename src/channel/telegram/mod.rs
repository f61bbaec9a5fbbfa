//! Telegram, over its Bot API. All that knows Telegram or teloxide is here.
//!
//! teloxide's client and requests are used, its dispatcher is not: it tells
//! the platform that an update arrived before anybody has stored it.

mod introduce;
mod layout;
mod outcome;
mod receive;
mod secret;
mod token;
mod update;
pub mod webhook;

pub use introduce::{BotName, NoIntroduction};
pub use secret::{NotASecret, Secret};
pub use token::{NotAToken, Token};
pub use update::arrival;

use super::{Attachment, Channel, Outgoing, OutgoingButton, Sent};
use anyhow::{Context, ensure};
use futures_util::future::BoxFuture;
use serde::{Deserialize, Serialize};
use std::{fmt, sync::OnceLock};
use teloxide::{
    Bot, RequestError,
    payloads::{SendMessage, SendMessageSetters},
    requests::{JsonRequest, Payload, Request, Requester},
    types::{
        ChatId, InlineKeyboardButton, InlineKeyboardMarkup, InputFile, LinkPreviewOptions,
        MessageId,
    },
};

/// The name by which chats of this channel are stored.
pub const NAME: &str = "telegram";

/// One bot on Telegram.
///
/// A single [`Channel::send`] may take half a minute: teloxide waits 17 s for
/// an answer, and sleeps 10 s after a server's error before it returns.
pub struct TelegramChannel {
    bot: Bot,
    token: Token,
    /// The bot's own name, once the platform has told it.
    username: OnceLock<String>,
}

impl TelegramChannel {
    /// A bot at the public Bot API server, or at the clinic's own (`api_url`).
    ///
    /// # Errors
    /// `api_url` is no http or https address.
    pub fn new(token: Token, api_url: Option<&str>) -> anyhow::Result<Self> {
        let mut bot = Bot::new(token.reveal());
        if let Some(text) = api_url {
            // A slash at the end would become an empty step of the path.
            let url = text.trim_end_matches('/').parse();
            bot = bot.set_api_url(url.context("the address of the Bot API server")?);
            ensure!(
                matches!(bot.api_url().scheme(), "http" | "https"),
                "the address of the Bot API server must begin with http:// or https://"
            );
        }
        Ok(Self {
            bot,
            token,
            username: OnceLock::new(),
        })
    }

    /// Sends the pieces in order, the buttons below the last. When a piece
    /// fails the whole message has failed, and a repeat begins with the first.
    async fn send_pieces(&self, chat: ChatId, message: &Outgoing) -> Result<Sent, RequestError> {
        if let Some(attachment) = &message.attachment {
            return self.send_file(chat, message, attachment).await;
        }
        let pieces = layout::pieces(&message.text);
        let last = pieces.len().saturating_sub(1);
        let mut external_id = String::new();
        for (place, piece) in pieces.into_iter().enumerate() {
            let mut words = SendMessage::new(chat, piece)
                .disable_notification(message.quiet || place > 0)
                .link_preview_options(NO_PREVIEW);
            if place == last && !message.buttons.is_empty() {
                words = words.reply_markup(keyboard(&message.buttons));
            }
            let request = JsonRequest::new(self.bot.clone(), ForItsNumber(words));
            external_id = request.send().await?.message_id.to_string();
        }
        Ok(Sent::Accepted { external_id })
    }
}

/// A call that is answered with a message of which only the number is read: all of
/// it costs a twentieth of a send. What else stands in it may be of a kind that our
/// library does not know yet, and is no reason to leave out the pieces behind.
struct ForItsNumber<P>(P);

#[derive(Deserialize)]
struct Numbered {
    message_id: i32,
}

impl<P: Serialize> Serialize for ForItsNumber<P> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(serializer)
    }
}

impl<P: Payload> Payload for ForItsNumber<P> {
    type Output = Numbered;
    const NAME: &'static str = P::NAME;
}

/// The longest words below a file, in UTF-16 units (Bot API, `sendDocument`, "0-1024 characters").
const CAPTION_LIMIT: usize = 1024;

impl TelegramChannel {
    /// A file with the text below it, or behind it where the text is too long for that.
    async fn send_file(
        &self,
        chat: ChatId,
        message: &Outgoing,
        attachment: &Attachment,
    ) -> Result<Sent, RequestError> {
        let file = InputFile::memory(attachment.bytes.clone()).file_name(attachment.name.clone());
        let fits = message.text.encode_utf16().count() <= CAPTION_LIMIT;
        let caption = if fits { message.text.as_str() } else { "" };
        let markup = (fits && !message.buttons.is_empty()).then(|| keyboard(&message.buttons));
        let sent = if attachment.picture {
            let mut request = self.bot.send_photo(chat, file);
            request.caption = Some(caption.to_owned());
            request.reply_markup = markup.map(Into::into);
            request.send().await
        } else {
            let mut request = self.bot.send_document(chat, file);
            request.caption = Some(caption.to_owned());
            request.reply_markup = markup.map(Into::into);
            request.send().await
        };
        let external_id = match sent {
            Ok(sent) => sent.id.to_string(),
            Err(error) => match outcome::failure(&error, &self.token) {
                // Its answer holds something that our library does not know.
                Sent::Accepted { external_id } => external_id,
                _ => return Err(error),
            },
        };
        if fits {
            return Ok(Sent::Accepted { external_id });
        }
        let text = Outgoing {
            attachment: None,
            ..message.clone()
        };
        Box::pin(self.send_pieces(chat, &text)).await
    }
}

const NO_PREVIEW: LinkPreviewOptions = LinkPreviewOptions {
    is_disabled: true,
    url: None,
    prefer_small_media: false,
    prefer_large_media: false,
    show_above_text: false,
};

fn keyboard(buttons: &[OutgoingButton]) -> InlineKeyboardMarkup {
    let row = |row: &[super::OutgoingButton]| {
        row.iter()
            .map(|button| InlineKeyboardButton::callback(&button.label, &button.data))
            .collect::<Vec<_>>()
    };
    InlineKeyboardMarkup::new(layout::rows(buttons).map(row))
}

impl Channel for TelegramChannel {
    fn name(&self) -> &'static str {
        NAME
    }

    fn is_paced(&self) -> bool {
        true
    }

    fn has_replies(&self) -> bool {
        true
    }

    fn numbers_people(&self) -> bool {
        true
    }

    fn takes_files(&self) -> bool {
        true
    }

    fn change_buttons<'a>(
        &'a self,
        address: &'a str,
        external_id: &'a str,
        buttons: &'a [OutgoingButton],
    ) -> BoxFuture<'a, Sent> {
        Box::pin(async move {
            let (Ok(chat), Ok(message)) = (address.parse(), external_id.parse()) else {
                return Sent::Refused {
                    why: "not a message in a Telegram chat".to_owned(),
                };
            };
            let mut request = self
                .bot
                .edit_message_reply_markup(ChatId(chat), MessageId(message));
            if !buttons.is_empty() {
                request.reply_markup = Some(keyboard(buttons));
            }
            match request.send().await {
                Ok(_) => Sent::Accepted {
                    external_id: external_id.to_owned(),
                },
                Err(error) => outcome::failure(&error, &self.token),
            }
        })
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        Box::pin(async move {
            let Ok(chat) = message.address.parse() else {
                return Sent::Refused {
                    why: "not the address of a Telegram chat".to_owned(),
                };
            };
            match self.send_pieces(ChatId(chat), message).await {
                Ok(sent) => sent,
                Err(error) => outcome::failure(&error, &self.token),
            }
        })
    }
}

impl fmt::Debug for TelegramChannel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("TelegramChannel")
            .field("username", &self.username.get())
            .finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_of_the_server_is_checked_before_anything_is_sent() {
        let token = || Token::parse("42:SECRET").unwrap();
        assert!(TelegramChannel::new(token(), None).is_ok());
        assert!(TelegramChannel::new(token(), Some("http://127.0.0.1:8081/")).is_ok());
        for address in ["", "127.0.0.1:8081", "mailto:a@b", "ftp://a"] {
            let refused = TelegramChannel::new(token(), Some(address));
            assert!(refused.is_err(), "accepted: {address}");
        }
    }

    #[test]
    fn debug_does_not_print_the_token() {
        let channel = TelegramChannel::new(Token::parse("42:SECRET").unwrap(), None).unwrap();
        assert!(!format!("{channel:?}").contains("SECRET"));
    }
}
