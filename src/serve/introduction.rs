//! What each bot says of itself before anybody has written to it.

use super::AFTER_FAILURE;
use crate::channel::telegram::{NoIntroduction, TelegramChannel};
use crate::wording::{Phrase, Wording};
use tokio::sync::watch;

/// The bot's name and menu. A wrong token ends the program; a platform that
/// cannot be reached is asked again, since the clinic's reminders must start
/// by themselves after a power cut.
pub(super) async fn introduce(
    telegram: &TelegramChannel,
    clinic: &str,
    introduction: &Introduction,
    stop: &mut watch::Receiver<bool>,
) -> anyhow::Result<Option<String>> {
    loop {
        match telegram
            .introduce(&introduction.menus(), &introduction.descriptions())
            .await
        {
            Ok(name) => return Ok(Some(name.as_str().to_owned())),
            Err(error @ NoIntroduction::WrongToken) => return Err(error.into()),
            Err(error) => tracing::warn!(%error, clinic, "trying again in a moment"),
        }
        tokio::select! {
            () = tokio::time::sleep(AFTER_FAILURE) => {}
            _ = stop.wait_for(|stop| *stop) => return Ok(None),
        }
    }
}

/// What the bot says of itself before anybody has written to it.
pub(super) struct Introduction {
    languages: Vec<InLanguage>,
}

struct InLanguage {
    /// Whom it is shown to; an empty code is for everybody else.
    code: String,
    menu: Vec<(&'static str, String)>,
    description: String,
}

impl Introduction {
    pub(super) fn of(wording: &Wording) -> Introduction {
        let codes = wording
            .languages()
            .into_iter()
            .map(|code| (code.to_owned(), code.to_owned()));
        let languages = std::iter::once((String::new(), "en".to_owned()))
            .chain(codes)
            .map(|(shown_to, code)| {
                let description = wording.phrase(Phrase::BotDescription, &[], &code);
                InLanguage {
                    code: shown_to,
                    menu: wording.menu(&code),
                    description,
                }
            })
            .collect();
        Introduction { languages }
    }

    fn menus(&self) -> Vec<(&str, Vec<(&str, &str)>)> {
        let mut menus = Vec::new();
        for language in &self.languages {
            let menu = language
                .menu
                .iter()
                .map(|(word, what)| (*word, what.as_str()));
            menus.push((language.code.as_str(), menu.collect()));
        }
        menus
    }

    fn descriptions(&self) -> Vec<(&str, &str)> {
        self.languages
            .iter()
            .map(|l| (l.code.as_str(), l.description.as_str()))
            .collect()
    }
}
