//! Papers, made when they are sent or asked for: they show how things stand then.

use super::Engine;
use super::invitation::is_scannable;
use crate::channel::Attachment;
use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::message::{Message, Paper, Value};
use crate::paper::{DrawingError, Invitation, SheetInput, calendar, code, picture, sheet};

impl Engine {
    /// Makes a paper of a household; `link` is printed on a sheet as a square code.
    ///
    /// # Errors
    /// Only for a mistake of ours in the drawing.
    pub fn make_paper(
        &self,
        household: &Household,
        paper: Paper,
        link: Option<&str>,
        now: Instant,
    ) -> Result<Option<Attachment>, DrawingError> {
        let course = match paper {
            Paper::Code => return self.make_code(link),
            Paper::Sheet { course } | Paper::Picture { course } | Paper::Calendar { course } => {
                course
            }
        };
        let Some(course) = household.courses.get(&course) else {
            return Ok(None);
        };
        let (policy, wording) = (&self.policy, &self.wording);
        let (kind, picture, bytes) = match paper {
            Paper::Sheet { .. } => {
                let invitation = link.map(|link| Invitation {
                    link,
                    until: now + policy.invitation_valid,
                });
                let input = SheetInput {
                    household,
                    course,
                    policy,
                    wording,
                    invitation,
                    now,
                };
                ("sheet.pdf", false, sheet(&input)?)
            }
            Paper::Picture { .. } => (
                "picture.png",
                true,
                picture(household, course, policy, wording, now)?,
            ),
            Paper::Calendar { .. } | Paper::Code => {
                let file = calendar(household, course, policy, wording, now);
                ("calendar.ics", false, file.into_bytes())
            }
        };
        let name = format!("{}-{kind}", file_name(household, course));
        Ok(Some(Attachment {
            name,
            picture,
            bytes,
        }))
    }

    /// A link as a picture to scan.
    fn make_code(&self, link: Option<&str>) -> Result<Option<Attachment>, DrawingError> {
        let bytes = link.map(code).transpose()?.flatten();
        Ok(bytes.map(|bytes| Attachment {
            name: "invitation.png".into(),
            picture: true,
            bytes,
        }))
    }
}

/// The patient's name in letters that every file system takes.
fn file_name(household: &Household, course: &Course) -> String {
    let plain: String = household
        .patient_of(course)
        .chars()
        .filter(|c| c.is_ascii_alphanumeric())
        .take(30)
        .collect();
    if plain.is_empty() {
        format!("course-{}", course.no)
    } else {
        plain
    }
}

/// The first invitation's link in a message that lists them.
pub(super) fn link_in(message: &Message) -> Option<&str> {
    let scannable = |link: &&str| is_scannable(link);
    match (message.facts.get("link"), message.facts.get("links")) {
        (Some(Value::Text(link)), _) => Some(link.as_str()).filter(scannable),
        (_, Some(Value::Text(links))) => {
            let first = links.lines().next()?;
            let (_, link) = first.split_once(": ")?;
            Some(link).filter(scannable)
        }
        _ => None,
    }
}
