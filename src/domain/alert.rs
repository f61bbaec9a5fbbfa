//! What the clinic was told and somebody there has to see: who has it, what
//! was answered, how it ended.

use super::Instant;
use super::ending::Ending;
use super::message::{Facts, Kind, No};
use serde::{Deserialize, Serialize};

/// Something that the clinic was told and has to see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alert {
    /// The number in the household.
    pub no: No,
    /// Which message told it.
    pub kind: Kind,
    /// The course and dose it is about.
    pub dose: Option<(No, No)>,
    /// The carer it came from.
    pub carer: Option<No>,
    /// The owner's words, where there are some.
    pub text: Option<String>,
    /// The patient that the message named.
    pub patient: Option<String>,
    /// What the message stated, without the owner's words: it is told again as it was.
    pub facts: Facts,
    /// When it was raised.
    pub raised_at: Instant,
    /// Up to which instant the ladder was walked; `raised_at` before the first rung.
    pub told_at: Instant,
    /// How many rungs were told.
    pub rungs: u32,
    /// When it was seen, and by whom.
    pub seen: Option<(Instant, String)>,
    /// What people at the clinic wrote to the carer about it, in order.
    pub replies: Vec<Answer>,
    /// How it ended, where somebody said so.
    pub ended: Option<Ended>,
}

/// What somebody at the clinic wrote to a carer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// When.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// The words.
    pub words: String,
}

/// How an alert ended, by whose word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ended {
    /// How.
    pub how: Ending,
    /// When that was said.
    pub at: Instant,
    /// By whom.
    pub by: String,
}

impl Alert {
    /// Whether nothing more can be done about it: it ended, and not for want of an answer.
    pub fn is_closed(&self) -> bool {
        self.ended
            .as_ref()
            .is_some_and(|ended| ended.how != Ending::NoAnswer)
    }

    /// Whether a carer's words wait for an answer.
    pub fn waits_for_an_answer(&self) -> bool {
        let asks = matches!(self.kind, Kind::ClinicQuestion | Kind::ClinicEmergency);
        asks && self.carer.is_some() && self.replies.is_empty() && !self.is_closed()
    }
}

/// How an alert of a kind may end.
pub fn endings_of(kind: Kind) -> &'static [Ending] {
    use Ending::{
        ComesIn, GivenLateOnOrder, HandedOut, LeftOutOnOrder, NoAnswer, Otherwise, ReachedOwner,
    };
    match kind {
        Kind::ClinicMissedDose | Kind::ClinicOutage => &[
            ReachedOwner,
            NoAnswer,
            GivenLateOnOrder,
            LeftOutOnOrder,
            ComesIn,
            Otherwise,
        ],
        Kind::ClinicSupplyLow => &[HandedOut, ReachedOwner, NoAnswer, Otherwise],
        Kind::ClinicUnreachable => &[ReachedOwner, NoAnswer, Otherwise],
        _ => &[ReachedOwner, NoAnswer, ComesIn, Otherwise],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_alert_may_end_for_want_of_an_answer() {
        for kind in Kind::ALL.iter().filter(|kind| kind.is_for_clinic()) {
            assert!(endings_of(*kind).contains(&Ending::NoAnswer), "{kind}");
        }
    }
}
