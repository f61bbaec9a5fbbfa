//! The clinic's staff: who is on it, who may act, and how somebody joins.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::arrival::Arrival;
use crate::domain::household::Chat;
use crate::domain::member::Member;
use crate::domain::message::{Kind, Message, Recipient};
use crate::domain::name::name as name_of;
use crate::domain::second_person::{has_veterinarian, is_same_person};
use crate::domain::staff::{Role, Whom};
use crate::store::{AtClinic, ClinicCode, ClinicEntry, Doer, StoreError};

/// Why the staff stays as it is.
#[derive(Debug, thiserror::Error)]
pub enum StaffError {
    /// Somebody on the staff has that name.
    #[error("{0} is on the staff already")]
    Known(String),
    /// Nobody on the staff has that name.
    #[error("nobody on the staff is called {name}; {known}")]
    Unknown {
        /// The name that was given.
        name: String,
        /// The names that there are.
        known: String,
    },
    /// A name that cannot be one.
    #[error(
        "{0:?} is no name; write 1 to 60 letters on one line, and not \"group\" or \"on-call\""
    )]
    NoName(String),
    /// The store could not keep it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Somebody at the clinic who may act.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Actor {
    /// As the record names them.
    pub(super) by: String,
    /// As an owner reads it.
    pub(super) shown: String,
    /// What they are; none where the clinic keeps no list of its staff yet.
    pub(super) role: Option<Role>,
}

impl Actor {
    /// Whether they may say what the clinic orders.
    pub(super) fn may_order(&self) -> bool {
        self.role != Some(Role::Technician)
    }
}

impl Engine {
    /// Adds somebody to the staff; gives the code of their invitation.
    pub async fn add_staff(
        &self,
        name: &str,
        role: Role,
        now: Instant,
    ) -> Result<String, StaffError> {
        let name = name_of(name)
            .filter(|name| !["group", "on-call"].contains(name))
            .ok_or_else(|| StaffError::NoName(name.trim().into()))?;
        let clinic = &self.policy.clinic.key;
        let mut work = self.store.begin().await?;
        let staff = work.staff(clinic).await?;
        if staff.iter().any(|known| is_same_person(&known.name, name)) {
            return Err(StaffError::Known(name.into()));
        }
        let no = work.add_member(clinic, name, role, now).await?;
        let code = super::enrol::new_code();
        let expires = now + self.policy.invitation_valid;
        work.keep_clinic_code(&code, clinic, &ClinicCode::Member(no), now, expires)
            .await?;
        let change = AtClinic::StaffInvited(name.into());
        work.note_at_clinic(clinic, &Doer::at_the_terminal(), &change, now)
            .await?;
        work.commit().await?;
        Ok(code)
    }

    /// Takes somebody off the staff: nothing that they do counts from here on.
    pub async fn remove_staff(&self, name: &str, now: Instant) -> Result<(), StaffError> {
        let clinic = &self.policy.clinic.key;
        let mut work = self.store.begin().await?;
        let staff = work.staff(clinic).await?;
        let member = named(&staff, name)?;
        work.remove_member(clinic, member.no, now).await?;
        let change = AtClinic::StaffRemoved(member.name.clone());
        work.note_at_clinic(clinic, &Doer::at_the_terminal(), &change, now)
            .await?;
        work.commit().await?;
        Ok(())
    }

    /// Who is on call from now on; none: nobody by name.
    pub async fn put_on_call(&self, name: Option<&str>) -> Result<(), StaffError> {
        let clinic = &self.policy.clinic.key;
        let mut work = self.store.begin().await?;
        let staff = work.staff(clinic).await?;
        let member = match name {
            Some(name) => Some(named(&staff, name)?.no),
            None => None,
        };
        work.set_on_call(clinic, member).await?;
        let change = name.map_or(AtClinic::NobodyOnCall, |name| AtClinic::OnCall(name.into()));
        work.note_at_clinic(clinic, &Doer::at_the_terminal(), &change, self.now())
            .await?;
        work.commit().await?;
        Ok(())
    }

    /// The staff, in the order in which they were invited.
    pub async fn staff(&self) -> Result<Vec<Member>, StoreError> {
        let mut work = self.store.begin().await?;
        let staff = work.staff(&self.policy.clinic.key).await?;
        work.commit().await?;
        Ok(staff)
    }

    /// What changed of the staff and of the clinic's chat, in order.
    pub async fn clinic_journal(
        &self,
        from: Option<Instant>,
        until: Option<Instant>,
    ) -> Result<Vec<ClinicEntry>, StoreError> {
        let mut work = self.store.begin().await?;
        let entries = work
            .clinic_journal(&self.policy.clinic.key, from, until)
            .await?;
        work.commit().await?;
        Ok(entries)
    }

    /// A code that makes the chat in which it is written the clinic's.
    pub async fn code_for_the_chat(&self, now: Instant) -> Result<String, StoreError> {
        let code = super::enrol::new_code();
        let expires = now + self.policy.invitation_valid;
        let clinic = &self.policy.clinic.key;
        let mut work = self.store.begin().await?;
        work.keep_clinic_code(&code, clinic, &ClinicCode::Chat, now, expires)
            .await?;
        work.note_at_clinic(clinic, &Doer::at_the_terminal(), &AtClinic::ChatCode, now)
            .await?;
        work.commit().await?;
        Ok(code)
    }

    /// Who wrote, if they may act: somebody on the staff. Before anybody has
    /// joined it the clinic's chat as a whole may, and so may everybody there
    /// where a channel does not number people (a rehearsal, the demonstration).
    pub(super) async fn actor(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
        arrival: &Arrival,
    ) -> Result<Option<Actor>, StoreError> {
        let clinic = &self.policy.clinic;
        let shown = arrival.sender.as_ref().unwrap_or(&clinic.name).clone();
        let numbered = self
            .channel(&chat.channel)
            .is_some_and(|channel| channel.numbers_people());
        if !numbered {
            return Ok(Some(Actor {
                by: shown.clone(),
                shown,
                role: None,
            }));
        }
        if let Some(person) = &arrival.sender_id {
            let member = settling
                .work
                .member_of(&clinic.key, &chat.channel, person)
                .await?;
            if let Some(member) = member {
                return Ok(Some(Actor {
                    by: member.name.clone(),
                    shown: member.name,
                    role: Some(member.role),
                }));
            }
        }
        let open = !settling.work.has_staff(&clinic.key).await?;
        Ok(open.then(|| Actor {
            // A name can be borrowed: the record has the platform's number as well.
            by: match &arrival.sender_id {
                Some(id) => format!("{shown} ({} {id})", chat.channel),
                None => shown.clone(),
            },
            shown,
            role: None,
        }))
    }

    /// Whether what these two want ordered still lacks a veterinarian. A clinic
    /// that keeps no list of its staff knows of no roles.
    pub(super) async fn lacks_veterinarian(
        &self,
        settling: &mut Settling<'_>,
        people: [&str; 2],
    ) -> Result<bool, StoreError> {
        let clinic = &self.policy.clinic.key;
        if !settling.work.has_staff(clinic).await? {
            return Ok(false);
        }
        let staff = settling.work.staff(clinic).await?;
        let roles = staff
            .iter()
            .filter(|member| member.joined_at.is_some())
            .map(|member| (member.name.as_str(), member.role));
        Ok(!has_veterinarian(people, roles))
    }

    /// Uses a code of the clinic, from whichever chat it comes; false where it is none.
    pub(super) async fn use_clinic_code(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
        arrival: &Arrival,
        code: &str,
        now: Instant,
    ) -> Result<bool, StoreError> {
        let clinic = &self.policy.clinic;
        // An owner's chat stays an owner's, whoever holds the phone.
        let of_a_carer = settling.carer_of(chat).await?.is_some();
        if of_a_carer {
            return Ok(false);
        }
        let used = settling
            .work
            .redeem_clinic_code(code, &clinic.key, now)
            .await?;
        let doer = doer(chat, arrival.sender.as_deref().unwrap_or("unknown"));
        match used {
            None => return Ok(false),
            Some(ClinicCode::Chat) => {
                settling.bind_clinic_chat(chat).await?;
                settling
                    .work
                    .note_at_clinic(&clinic.key, &doer, &AtClinic::ChatBound, now)
                    .await?;
                say_staff(settling, "bound", &clinic.name, None);
            }
            Some(ClinicCode::Member(no)) => {
                let person = arrival.sender_id.as_ref().unwrap_or(&chat.address);
                let other = settling
                    .work
                    .member_of(&clinic.key, &chat.channel, person)
                    .await?;
                // Invited anew under another name: the person is who they are now.
                if let Some(other) = other.filter(|other| other.no != no) {
                    settling
                        .work
                        .remove_member(&clinic.key, other.no, now)
                        .await?;
                    let change = AtClinic::StaffRemoved(other.name);
                    settling
                        .work
                        .note_at_clinic(&clinic.key, &doer, &change, now)
                        .await?;
                }
                settling
                    .work
                    .join_member(&clinic.key, no, &chat.channel, person, now)
                    .await?;
                if person == &chat.address {
                    settling
                        .work
                        .set_member_chat(&clinic.key, no, Some(person))
                        .await?;
                    settling.answer_in(chat);
                }
                let staff = settling.work.staff(&clinic.key).await?;
                if let Some(member) = staff.iter().find(|member| member.no == no) {
                    let change = AtClinic::StaffJoined(member.name.clone());
                    settling
                        .work
                        .note_at_clinic(&clinic.key, &doer, &change, now)
                        .await?;
                    say_staff(settling, "joined", &member.name, Some(member.role));
                }
            }
        }
        Ok(true)
    }

    /// The member of the staff who writes from a chat with the bot alone.
    pub(super) async fn member_alone(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
        arrival: &Arrival,
    ) -> Result<Option<Member>, StoreError> {
        let Some(person) = arrival.sender_id.as_ref().filter(|p| **p == chat.address) else {
            return Ok(None);
        };
        let clinic = &self.policy.clinic.key;
        let member = settling
            .work
            .member_of(clinic, &chat.channel, person)
            .await?;
        if let Some(member) = &member
            && member.chat.is_none()
        {
            settling
                .work
                .set_member_chat(clinic, member.no, Some(person))
                .await?;
        }
        Ok(member)
    }

    /// Somebody at the clinic says who is on call, or asks.
    pub(super) async fn settle_on_call(
        &self,
        settling: &mut Settling<'_>,
        name: &str,
        doer: &Doer,
    ) -> Result<(), StoreError> {
        let clinic = &self.policy.clinic.key;
        let staff = settling.work.staff(clinic).await?;
        if name.is_empty() {
            match staff.iter().find(|member| member.on_call) {
                Some(member) => say_staff(settling, "on-call", &member.name, Some(member.role)),
                None => say_staff(settling, "nobody-on-call", "", None),
            }
            return Ok(());
        }
        let found = staff
            .iter()
            .find(|member| member.name.eq_ignore_ascii_case(name));
        match found {
            Some(member) => {
                settling.work.set_on_call(clinic, Some(member.no)).await?;
                let change = AtClinic::OnCall(member.name.clone());
                let now = settling.now();
                settling
                    .work
                    .note_at_clinic(clinic, doer, &change, now)
                    .await?;
                say_staff(settling, "on-call", &member.name, Some(member.role));
            }
            None => say_staff(settling, "not-on-the-staff", name, None),
        }
        Ok(())
    }
}

/// The chat that somebody at the clinic has with the bot alone, where they have one.
pub(super) fn chat_of(staff: &[Member], whom: &Whom) -> Option<Chat> {
    let found = staff.iter().find(|member| match whom {
        Whom::Group => false,
        Whom::OnCall => member.on_call,
        Whom::Person(name) => member.name == *name,
    });
    found.and_then(|member| member.chat.clone())
}

/// Somebody who wrote in a chat, as the clinic's journal names them.
pub(super) fn doer(chat: &Chat, who: &str) -> Doer {
    Doer {
        who: who.into(),
        origin: format!("{} {}", chat.channel, chat.address),
    }
}

fn say_staff(settling: &mut Settling<'_>, what: &str, name: &str, role: Option<Role>) {
    let message = Message::new(Recipient::Clinic, Kind::ClinicStaff)
        .fact("what", what)
        .maybe("name", (!name.is_empty()).then_some(name))
        .maybe("role", role.map(Role::name));
    settling.say(None, message);
}

fn named<'s>(staff: &'s [Member], name: &str) -> Result<&'s Member, StaffError> {
    staff
        .iter()
        .find(|member| member.name == name)
        .ok_or_else(|| {
            let names: Vec<&str> = staff.iter().map(|member| member.name.as_str()).collect();
            StaffError::Unknown {
                name: name.into(),
                known: match names.as_slice() {
                    [] => "there is nobody on it yet".into(),
                    names => format!("on it are {}", names.join(", ")),
                },
            }
        })
}
