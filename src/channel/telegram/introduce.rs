//! What the bot tells the platform about itself when the program starts.

use super::{TelegramChannel, outcome};
use teloxide::{
    RequestError,
    payloads::{SetMyCommandsSetters, SetMyDescriptionSetters},
    requests::{Request, Requester},
    types::BotCommand,
};
use thiserror::Error;

/// The name under which people find the bot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BotName(String);

/// Why the bot does not know its own name.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoIntroduction {
    /// Trying again will not help.
    #[error("Telegram does not know the bot's token: look at VIALBELL_TELEGRAM_TOKEN")]
    WrongToken,
    /// Trying again may help. The reason holds no secret.
    #[error("Telegram could not be reached: {0}")]
    Unreachable(String),
}

impl BotName {
    /// The name without `@`.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The address that opens a chat with the bot and hands it `code` (at
    /// most 64 of A-Z a-z 0-9 _ -; the Bot API's documentation, "Deep linking").
    #[must_use]
    pub fn invitation(&self, code: &str) -> String {
        format!("https://t.me/{}?start={code}", self.0)
    }
}

impl TelegramChannel {
    /// Asks for the bot's name and sets its commands (command and
    /// description) and its description, each for a language of two letters
    /// or, with an empty one, for everybody else. Commands and descriptions
    /// that cannot be set are only logged: the bot works without.
    ///
    /// # Errors
    /// The platform does not know the token, or cannot be reached.
    pub async fn introduce(
        &self,
        commands: &[(&str, Vec<(&str, &str)>)],
        descriptions: &[(&str, &str)],
    ) -> Result<BotName, NoIntroduction> {
        let name = self.ask_name().await?;
        for (language, commands) in commands {
            let commands = commands
                .iter()
                .map(|(word, what)| BotCommand::new(*word, *what));
            let mut request = self.bot.set_my_commands(commands);
            if !language.is_empty() {
                request = request.language_code(*language);
            }
            self.tell_unset("commands", language, request.send().await.err());
        }
        for (language, description) in descriptions {
            let mut request = self.bot.set_my_description().description(*description);
            if !language.is_empty() {
                request = request.language_code(*language);
            }
            self.tell_unset("description", language, request.send().await.err());
        }
        Ok(name)
    }

    /// Asks for the bot's name, and changes nothing.
    ///
    /// # Errors
    /// The platform does not know the token, or cannot be reached.
    pub async fn ask_name(&self) -> Result<BotName, NoIntroduction> {
        let me = self.bot.get_me().await.map_err(|error| {
            let why = outcome::describe(&error, &self.token);
            if outcome::is_wrong_token(&why) {
                NoIntroduction::WrongToken
            } else {
                NoIntroduction::Unreachable(why)
            }
        })?;
        let name = self.username.get_or_init(|| me.username().to_owned());
        Ok(BotName(name.clone()))
    }

    fn tell_unset(&self, what: &str, language: &str, error: Option<RequestError>) {
        if let Some(error) = error {
            let why = outcome::describe(&error, &self.token);
            tracing::warn!(%why, language, "the bot's {what} could not be set");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_invitation_opens_the_bot_with_its_code() {
        let name = BotName("clinic_bot".to_owned());
        assert_eq!(
            name.invitation("AbC-9_"),
            "https://t.me/clinic_bot?start=AbC-9_"
        );
    }
}
