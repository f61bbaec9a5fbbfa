//! The secret of a webhook: whoever has it can speak as any owner.

use std::fmt;
use subtle::ConstantTimeEq;
use thiserror::Error;

/// The fewest characters of a secret that is not guessed. The platform would take one.
const FEWEST: usize = 32;
/// The most that the platform takes (the Bot API's documentation of `setWebhook`).
const MOST: usize = 256;

/// What the platform sends along with every update, so that it can be told
/// from anybody else who knows the address. It never appears in `Debug`.
#[derive(Clone)]
pub struct Secret(String);

/// The text is no secret. It is not repeated here, for it may be a mistyped one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the webhook's secret must be {FEWEST} to {MOST} of A-Z a-z 0-9 _ -")]
pub struct NotASecret;

impl Secret {
    /// Reads a secret; spaces and line ends around it are passed over, since
    /// secrets often come from a file.
    ///
    /// # Errors
    /// It is shorter than 32 characters, longer than 256, or has others than
    /// A-Z a-z 0-9 _ - (the Bot API's documentation of `setWebhook`, `secret_token`).
    pub fn parse(text: &str) -> Result<Self, NotASecret> {
        let text = text.trim();
        let letters = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b == b'-';
        if (FEWEST..=MOST).contains(&text.len()) && text.bytes().all(letters) {
            Ok(Self(text.to_owned()))
        } else {
            Err(NotASecret)
        }
    }

    pub(super) fn reveal(&self) -> &str {
        &self.0
    }

    /// Whether it is this one. Takes as long for a near miss as for a far one,
    /// so that it cannot be found letter by letter.
    pub(super) fn is(&self, given: &[u8]) -> bool {
        self.0.as_bytes().ct_eq(given).into()
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret([hidden])")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_long_and_of_letters_that_the_platform_takes() {
        let long = "a".repeat(256);
        for text in ["0123456789abcdefABCDEF_-01234567", long.as_str()] {
            assert!(Secret::parse(&format!(" {text}\n")).is_ok(), "{text}");
        }
        let (short, longer) = ("a".repeat(31), "a".repeat(257));
        for text in [
            "",
            &short,
            &longer,
            "0123456789abcdef 0123456789abcdef",
            "0123456789abcdef0123456789abcdé",
            "0123456789abcdef0123456789abcdef+",
        ] {
            assert_eq!(
                Secret::parse(text).map(|_| ()),
                Err(NotASecret),
                "accepted: {text:?}"
            );
        }
    }

    #[test]
    fn only_the_whole_secret_is_it_and_it_is_not_printed() {
        let text = "0123456789abcdef0123456789abcdef";
        let secret = Secret::parse(text).unwrap();
        assert!(secret.is(text.as_bytes()));
        for other in [
            "",
            "0",
            &text[..31],
            &format!("{text}0"),
            &text.to_uppercase(),
        ] {
            assert!(!secret.is(other.as_bytes()), "{other}");
        }
        assert_eq!(format!("{secret:?}"), "Secret([hidden])");
    }
}
