//! What an answer of the platform means for a message, and how a failure is
//! told in a log without the token and without anybody's words.

use super::token::Token;
use crate::channel::Sent;
use serde::Deserialize;
use std::{error::Error, time::Duration};
use teloxide::{ApiError, RequestError};

/// How long to wait when the platform says "too many" but not for how long.
const UNSAID_WAIT: Duration = Duration::from_secs(30);

/// How long to wait before a token is tried again that the platform refused.
const WRONG_TOKEN_WAIT: Duration = Duration::from_secs(60);

/// Beginnings of answers that say the chat is closed to us, beside everything
/// that begins with "Forbidden". From memory of the Bot API's answers, and
/// the list in teloxide-core's `errors.rs`.
const CLOSED: [&str; 10] = [
    "Unauthorized: bot",
    "Bad Request: chat not found",
    "Bad Request: user not found",
    "Bad Request: group is deactivated",
    "Bad Request: PEER_ID_INVALID",
    "Bad Request: CHAT_WRITE_FORBIDDEN",
    "Bad Request: have no rights to send",
    "Bad Request: not enough rights to send",
    "Bad Request: need administrator rights",
    "Bad Request: USER_IS_BLOCKED",
];

/// What a failed attempt to send means.
pub(super) fn failure(error: &RequestError, token: &Token) -> Sent {
    match error {
        RequestError::RetryAfter(wait) => Sent::Later {
            after: wait.duration(),
        },
        RequestError::MigrateToChatId(to) => Sent::Moved { to: to.to_string() },
        RequestError::Api(answer) => verdict(&words(answer), token),
        RequestError::InvalidJson { raw, .. } => unexpected(raw, error, token),
        RequestError::Network(_) | RequestError::Io(_) => Sent::Unclear {
            why: describe(error, token),
        },
    }
}

/// The platform's own words, also where the library has a name for them.
pub(super) fn words(answer: &ApiError) -> String {
    match answer {
        ApiError::Unknown(text) => text.clone(),
        known => known.to_string(),
    }
}

fn verdict(text: &str, token: &Token) -> Sent {
    let why = token.scrub(text);
    if text.starts_with("Forbidden") || CLOSED.iter().any(|begin| text.starts_with(begin)) {
        Sent::Gone { why }
    } else if is_wrong_token(text) {
        Sent::Later {
            after: WRONG_TOKEN_WAIT,
        }
    } else if text.starts_with("Too Many Requests") {
        Sent::Later { after: UNSAID_WAIT }
    } else if text.starts_with("Bad Request") || text.starts_with("Request Entity Too Large") {
        Sent::Refused { why }
    } else {
        // "Internal Server Error", "Bad Gateway" and whatever else a server
        // in trouble says: it may have sent the message before it fell over.
        Sent::Unclear { why }
    }
}

/// The platform does not know the token. It says so with "Unauthorized" or
/// "Not Found"; the library has one text for both.
pub(super) fn is_wrong_token(text: &str) -> bool {
    matches!(text, "Invalid bot token" | "Unauthorized" | "Not Found")
}

/// The library gives up on an answer of which it does not know every part
/// (a new field, empty `parameters`). What matters here can still be in it: a
/// message that was accepted must not be sent twice for that.
fn unexpected(raw: &str, error: &RequestError, token: &Token) -> Sent {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Answer {
        Accepted { result: Message },
        Failed { description: String },
    }
    #[derive(Deserialize)]
    struct Message {
        message_id: i64,
    }
    match serde_json::from_str(raw) {
        Ok(Answer::Accepted { result }) => Sent::Accepted {
            external_id: result.message_id.to_string(),
        },
        Ok(Answer::Failed { description }) => verdict(&description, token),
        Err(_) => Sent::Unclear {
            why: describe(error, token),
        },
    }
}

/// A failure in words for a log: with its causes, without the token, and
/// without the answer's body, which may hold what people wrote.
pub(super) fn describe(error: &RequestError, token: &Token) -> String {
    let text = match error {
        RequestError::InvalidJson { raw, .. } => {
            format!("an answer that is not the Bot API's ({} bytes)", raw.len())
        }
        RequestError::Api(answer) => words(answer),
        RequestError::Network(network) => with_causes(network.as_ref()),
        other => other.to_string(),
    };
    token.scrub(&text)
}

fn with_causes(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        text.push_str(&format!(": {error}"));
        cause = error.source();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn token() -> Token {
        Token::parse("42:SECRET").unwrap()
    }

    fn answered(text: &str) -> Sent {
        failure(
            &RequestError::Api(ApiError::Unknown(text.to_owned())),
            &token(),
        )
    }

    fn unreadable(raw: &str) -> Sent {
        let source = Arc::new(serde_json::from_str::<u8>("x").unwrap_err());
        let raw = raw.into();
        failure(&RequestError::InvalidJson { source, raw }, &token())
    }

    #[test]
    fn a_closed_chat_is_known_by_the_beginning_of_the_answer() {
        for text in [
            "Forbidden: bot was blocked by the user",
            "Forbidden: user is deactivated",
            "Forbidden: bot can't initiate conversation with a user",
            "Forbidden: bot was kicked from the group chat",
            "Forbidden: words that nobody has seen yet",
            "Bad Request: chat not found",
            "Bad Request: not enough rights to send text messages to the chat",
        ] {
            assert_eq!(
                answered(text),
                Sent::Gone {
                    why: text.to_owned()
                }
            );
        }
    }

    #[test]
    fn a_server_in_trouble_leaves_it_open_whether_the_message_went_out() {
        for text in ["Internal Server Error", "Bad Gateway", "restart"] {
            assert_eq!(
                answered(text),
                Sent::Unclear {
                    why: text.to_owned()
                }
            );
        }
        assert!(matches!(
            unreadable("<html>502</html>"),
            Sent::Unclear { .. }
        ));
    }

    #[test]
    fn a_refused_token_is_no_fault_of_the_chat() {
        let wait = Sent::Later {
            after: WRONG_TOKEN_WAIT,
        };
        assert_eq!(answered("Unauthorized"), wait);
        assert_eq!(
            failure(&RequestError::Api(ApiError::InvalidToken), &token()),
            wait
        );
    }

    #[test]
    fn an_answer_with_parts_unknown_to_the_library_still_counts() {
        assert_eq!(
            unreadable(r#"{"ok":true,"result":{"message_id":7,"chat":"?"}}"#),
            Sent::Accepted {
                external_id: "7".to_owned()
            }
        );
        let refused = unreadable(
            r#"{"ok":false,"description":"Bad Request: message text is empty","parameters":{}}"#,
        );
        assert!(matches!(refused, Sent::Refused { .. }));
    }

    #[test]
    fn the_token_and_the_body_stay_out_of_every_reason() {
        let why = match answered("Bad Request: no such path /bot42:SECRET/x") {
            Sent::Refused { why } => why,
            other => panic!("{other:?}"),
        };
        assert_eq!(why, "Bad Request: no such path /bot[token]/x");
        match unreadable("my cat is called Juniper") {
            Sent::Unclear { why } => assert!(!why.contains("Juniper"), "{why}"),
            other => panic!("{other:?}"),
        }
    }
}
