//! A prescription becomes a course, and its carers get their invitations.

use super::Engine;
use super::invitation::is_scannable;
use super::settling::Settling;
use crate::config::{Mistakes, parse_prescription};
use crate::domain::Instant;
use crate::domain::decide::{ClinicWord, Entered, Input, ONE_PERSON, enrol};
use crate::domain::household::{Chat, Household};
use crate::domain::message::{Kind, Label, Message, No, Paper, Recipient, Tap};
use crate::domain::order_check::order_check;
use crate::domain::prescription::{Order, OrderError, WorkedOrder};
use crate::domain::second_person::{Confirming, confirming};
use crate::domain::supply::Supply;
use crate::store::{Loaded, StoreError};

/// What enrolling gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Enrolled {
    /// The household.
    pub household: i64,
    /// The course.
    pub course: No,
    /// Each carer who has not joined, by name, with the code of the invitation.
    pub invitations: Vec<(String, String)>,
    /// Whether nothing is asked for until somebody else has confirmed it.
    pub waits: bool,
}

/// Whether a second person still has to confirm an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confirmation {
    /// The clinic is asked, unless it has switched that off.
    Asked,
    /// It counts as confirmed: in a rehearsal and in the demonstration.
    Counted,
}

/// What became of a confirmation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Confirmed {
    /// The order takes effect now.
    Now,
    /// It was confirmed before, by this person.
    Before(String),
    /// A veterinarian has to confirm it.
    Veterinarian,
    /// Whoever entered an order cannot confirm it.
    SamePerson,
    /// The clinic has no such course.
    NoSuchCourse,
}

/// Why a prescription was not enrolled. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum EnrolError {
    /// The file is not well-formed.
    #[error("{0}")]
    Mistakes(Mistakes),
    /// The order breaks the clinic's rules.
    #[error("{}", join_lines(.0))]
    Order(Vec<OrderError>),
    /// The household that it should be added to does not exist.
    #[error("there is no household {0}")]
    NoHousehold(i64),
    /// The store could not keep it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

fn join_lines(errors: &[OrderError]) -> String {
    let lines: Vec<String> = errors.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

impl Engine {
    /// Enrols an order: in a new household, or in one that exists.
    pub async fn enrol(
        &self,
        order: &Order,
        household: Option<i64>,
        by: &str,
        confirmation: Confirmation,
        now: Instant,
    ) -> Result<Enrolled, EnrolError> {
        let worked = order
            .work_out(&self.policy, now)
            .map_err(EnrolError::Order)?;
        let mut settling = Settling::begin(self, now).await?;
        let enrolled = self
            .enrol_in(&mut settling, order, &worked, household, by, confirmation)
            .await?;
        settling.commit().await?;
        self.changed_from_outside().await;
        Ok(enrolled)
    }

    async fn enrol_in(
        &self,
        settling: &mut Settling<'_>,
        order: &Order,
        worked: &WorkedOrder,
        household: Option<i64>,
        by: &str,
        confirmation: Confirmation,
    ) -> Result<Enrolled, EnrolError> {
        let now = settling.now();
        let id = match household {
            Some(id) => {
                settling.load(&[id]).await?;
                let ours = settling
                    .household(id)
                    .is_some_and(|h| h.clinic == self.policy.clinic.key);
                if !ours {
                    return Err(EnrolError::NoHousehold(id));
                }
                id
            }
            None => {
                let clinic = &self.policy.clinic.key;
                let id = settling
                    .work
                    .create_household(clinic, &order.owner, &order.language, order.zone)
                    .await?;
                let (owner, language) = (&order.owner, &order.language);
                settling.hold(Loaded {
                    household: Household::new(id, clinic, owner, language, order.zone),
                    version: 0,
                    shown: Vec::new(),
                });
                id
            }
        };
        let confirmed_by = match confirmation {
            Confirmation::Counted => Some(by),
            Confirmation::Asked
                if !self.policy.second_person
                    && !self.lacks_veterinarian(settling, [by, by]).await? =>
            {
                Some(ONE_PERSON)
            }
            Confirmation::Asked => None,
        };
        let Some(known) = settling.household(id) else {
            return Err(EnrolError::NoHousehold(id));
        };
        let changes = enrol(
            known,
            order,
            worked,
            &self.policy,
            Entered { by, confirmed_by },
            now,
        );
        settling.change(id, changes, by);
        let course = settling
            .household(id)
            .and_then(|h| h.courses.keys().max().copied())
            .unwrap_or(1);
        let invitations = self.invite_all(settling, id, now).await?;
        let mut enrolled = self.say_enrolled(settling, id, order, worked, &invitations);
        if confirmation == Confirmation::Asked {
            let check = order_check(order, worked, &self.policy, Some(by));
            let check = match confirmed_by {
                None => check.button(
                    Label::Confirm,
                    Tap::Confirm {
                        household: id,
                        course,
                    },
                ),
                Some(_) => check,
            };
            settling.say(Some(id), check);
            enrolled.paper = Some(Paper::Sheet { course });
        }
        settling.say(Some(id), enrolled);
        for (name, code) in &invitations {
            if confirmation == Confirmation::Asked && is_scannable(&self.invitation_link(code)) {
                self.say_invitation(settling, id, name, code);
            }
        }
        Ok(Enrolled {
            household: id,
            course,
            invitations,
            waits: confirmed_by.is_none(),
        })
    }

    /// An invitation for each carer who has not joined yet.
    async fn invite_all(
        &self,
        settling: &mut Settling<'_>,
        id: i64,
        now: Instant,
    ) -> Result<Vec<(String, String)>, StoreError> {
        let carers: Vec<(No, String)> = settling
            .household(id)
            .map(|h| {
                h.carers
                    .values()
                    .filter(|c| c.chat.is_none())
                    .map(|c| (c.no, c.name.clone()))
                    .collect()
            })
            .unwrap_or_default();
        let mut invitations = Vec::new();
        for (carer, name) in carers {
            let code = self.invite(settling, id, carer, now).await?;
            invitations.push((name, code));
        }
        Ok(invitations)
    }

    /// The link that a carer opens; where the bot's name is not known yet, the words to send to it.
    pub fn invitation_link(&self, code: &str) -> String {
        let bot = self
            .bot_name
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        match bot.as_deref() {
            Some(bot) => format!("https://t.me/{bot}?start={code}"),
            None => format!("/start {code}"),
        }
    }

    fn say_enrolled(
        &self,
        settling: &Settling<'_>,
        id: i64,
        order: &Order,
        worked: &WorkedOrder,
        invitations: &[(String, String)],
    ) -> Message {
        let links: Vec<String> = invitations
            .iter()
            .map(|(name, code)| format!("{name}: {}", self.invitation_link(code)))
            .collect();
        let course = settling
            .household(id)
            .and_then(|h| h.courses.values().next_back());
        let hours = u32::try_from(self.policy.invitation_valid.num_hours()).unwrap_or(0);
        let shown = |dose| course.map(|course| course.planned(dose, order.zone).shown());
        Message::new(Recipient::Clinic, Kind::ClinicEnrolled)
            .about(&order.patient)
            .fact("owner", order.owner.as_str())
            .maybe("household", u32::try_from(id).ok())
            .fact("volume_ml", worked.volume)
            .fact("diluent_ml", order.product.diluent_volume)
            .maybe("planned", shown(1))
            .maybe("ends", shown(worked.doses))
            .fact("doses", worked.doses)
            .maybe(
                "vials",
                course
                    .and_then(|c| c.counted.get(&Supply::Vials))
                    .map(|counted| counted.pieces),
            )
            .maybe("hours", (!links.is_empty()).then_some(hours))
            .maybe("links", (!links.is_empty()).then(|| links.join("\n")))
    }

    /// A prescription that was sent in the clinic's chat. Mistakes are answered there, all at once.
    pub(super) async fn enrol_text(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
        by: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        if let Some(wrong) = self.try_enrol_text(settling, text, by, now).await? {
            let message = Message::new(Recipient::Clinic, Kind::ClinicOrderCheck)
                .fact("owner", by)
                .fact("by", by)
                .fact("status", "refused")
                .fact("text", wrong);
            settling.say(None, message);
        }
        Ok(())
    }

    /// Enrols a prescription from its text; gives what is wrong with it, where nothing was changed.
    pub(super) async fn try_enrol_text(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
        by: &str,
        now: Instant,
    ) -> Result<Option<String>, StoreError> {
        let languages = self.wording.languages();
        let languages: Vec<&str> = languages.iter().map(AsRef::as_ref).collect();
        let order =
            parse_prescription(text, &self.formulary, &languages).map_err(EnrolError::Mistakes);
        let worked = order.and_then(|order| {
            let worked = order
                .work_out(&self.policy, now)
                .map_err(EnrolError::Order)?;
            Ok((order, worked))
        });
        let enrolled = match worked {
            Ok((order, worked)) => self
                .enrol_in(settling, &order, &worked, None, by, Confirmation::Asked)
                .await
                .map(|_| ()),
            Err(error) => Err(error),
        };
        match enrolled {
            Ok(()) => Ok(None),
            Err(EnrolError::Store(error)) => Err(error),
            Err(error) => Ok(Some(error.to_string())),
        }
    }

    /// Somebody at the terminal confirms an order; the one who entered it cannot.
    pub async fn confirm(
        &self,
        household: i64,
        course: No,
        by: &str,
        now: Instant,
    ) -> Result<Confirmed, StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        settling.load(&[household]).await?;
        let found = settling
            .household(household)
            .filter(|h| h.clinic == self.policy.clinic.key)
            .and_then(|h| h.courses.get(&course));
        let Some(found) = found else {
            return Ok(Confirmed::NoSuchCourse);
        };
        let before = found.confirmed.as_ref().map(|(_, who)| who.as_str());
        let mut answer = match confirming(&found.entered_by, before, by) {
            Confirming::Already(who) => Confirmed::Before(who.to_owned()),
            Confirming::SamePerson => Confirmed::SamePerson,
            Confirming::Takes => Confirmed::Now,
        };
        if answer == Confirmed::Now
            && self
                .order_lacks_veterinarian(&mut settling, household, course, by)
                .await?
        {
            answer = Confirmed::Veterinarian;
        }
        if answer == Confirmed::Now {
            let input = Input::Clinic {
                by: by.into(),
                word: ClinicWord::Confirm { course },
            };
            settling.decide(household, &input, "confirm");
            settling.commit().await?;
            self.changed_from_outside().await;
        }
        Ok(answer)
    }

    /// Whether an order that is about to be confirmed needs a veterinarian who is not there.
    pub(super) async fn order_lacks_veterinarian(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        course: No,
        by: &str,
    ) -> Result<bool, StoreError> {
        let found = settling
            .household(household)
            .and_then(|known| known.courses.get(&course))
            .filter(|found| found.confirmed.is_none());
        let Some(entered_by) = found.map(|found| found.entered_by.clone()) else {
            return Ok(false);
        };
        self.lacks_veterinarian(settling, [&entered_by, by]).await
    }

    /// A carer joins without an invitation: in a rehearsal and in the demonstration.
    pub async fn join(
        &self,
        household: i64,
        carer: No,
        chat: Chat,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        settling.load(&[household]).await?;
        settling.decide(household, &Input::Joined { carer, chat }, "joined");
        settling.commit().await
    }
}

/// 100 bits from the system's generator, in letters that a link may carry.
pub(super) fn new_code() -> String {
    const LETTERS: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";
    let mut bytes = [0_u8; 20];
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    bytes
        .iter()
        .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
        .collect()
}
