//! The bot's token: whoever has it is the bot.

use std::fmt;
use thiserror::Error;

/// The token of a bot, as its platform gave it: `123456:letters`.
///
/// It never appears in `Debug`, and `scrub` takes it out of texts
/// that were made elsewhere: the token is part of every address that is asked.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

/// The text is no token. It is not repeated here, for it may be a mistyped one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the Telegram token must look like 123456:letters-digits_and-dashes")]
pub struct NotAToken;

impl Token {
    /// Reads a token; spaces and line ends around it are passed over, since
    /// secrets often come from a file.
    ///
    /// # Errors
    /// The text does not have a token's shape (a number, a colon, and letters
    /// of A-Z a-z 0-9 _ -; the Bot API's documentation, "Authorizing your bot").
    pub fn parse(text: &str) -> Result<Self, NotAToken> {
        let text = text.trim();
        let (number, secret) = text.split_once(':').ok_or(NotAToken)?;
        let digits = !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit());
        let letters = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b == b'-';
        if digits && !secret.is_empty() && secret.bytes().all(letters) {
            Ok(Self(text.to_owned()))
        } else {
            Err(NotAToken)
        }
    }

    pub(super) fn reveal(&self) -> &str {
        &self.0
    }

    /// The text with the token, and its secret half, left out.
    pub(super) fn scrub(&self, text: &str) -> String {
        let secret = self.0.split_once(':').map_or("", |(_, secret)| secret);
        text.replace(&self.0, "[token]").replace(secret, "[token]")
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token([hidden])")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_a_number_a_colon_and_letters() {
        assert!(Token::parse(" 123456:AbC-d_9\n").is_ok());
        for text in [
            "", "123456", ":abc", "12a:abc", "123:", "123:a/b", "123:a b",
        ] {
            assert_eq!(
                Token::parse(text).map(|_| ()),
                Err(NotAToken),
                "accepted: {text:?}"
            );
        }
    }

    #[test]
    fn a_token_is_neither_printed_nor_left_in_a_text() {
        let token = Token::parse("123456:AbC-d_9").unwrap();
        assert_eq!(format!("{token:?}"), "Token([hidden])");
        assert_eq!(
            token.scrub("no answer from /bot123456:AbC-d_9/getMe, AbC-d_9"),
            "no answer from /bot[token]/getMe, [token]"
        );
    }
}
