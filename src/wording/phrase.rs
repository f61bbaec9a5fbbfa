//! The words of papers: headings, captions and lines that are printed or
//! written to a file and not sent as a message. Each says which facts it
//! carries, as a kind of message does, and is checked in the same way.

use super::contract::{ABOUT, Fact, Shape, at, count, fits, line, volume};
use crate::domain::message::Value;

macro_rules! phrases {
    ($($name:ident = $id:literal [$($fact:expr),*];)*) => {
        /// Words of a paper, named by the id of their text in `config/wording`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Phrase {
            $(#[doc = concat!("`", $id, "`")] $name,)*
        }

        impl Phrase {
            /// Every phrase.
            pub const ALL: &'static [Phrase] = &[$(Phrase::$name),*];

            /// The id of its text.
            pub const fn id(self) -> &'static str {
                match self {
                    $(Phrase::$name => $id,)*
                }
            }

            pub(super) const fn facts(self) -> &'static [Fact] {
                match self {
                    $(Phrase::$name => const { &[$($fact),*] },)*
                }
            }
        }
    };
}

const PATIENT: Fact = line("patient");
const PHONE: Fact = line("phone");
const CLINIC: Fact = line("clinic");
const VOLUME: Fact = volume("volume_ml");
const SYRINGE: Fact = volume("syringe_ml");
const DILUENT: Fact = volume("diluent_ml");
const TIMES: Fact = Fact::new("times", Shape::Times);

phrases! {
    BotDescription = "bot-description" [];
    MenuNext = "menu-next" [];
    MenuLeft = "menu-left" [];
    MenuSteps = "menu-steps" [];
    MenuCalendar = "menu-calendar" [];
    MenuClinic = "menu-clinic" [];
    MenuHelp = "menu-help" [];

    BoardPatient = "board-patient" [PATIENT, line("owner"), count("given"), count("doses"), count("missed"), count("household")];
    BoardLast = "board-last" [at("last")];
    BoardVial = "board-vial" [count("vial"), volume("remaining_ml"), at("discard_by")];
    BoardVials = "board-vials" [count("vials_left")];
    BoardAlerts = "board-alerts" [count("alerts")];
    BoardUnanswered = "board-unanswered" [count("count")];
    BoardPastLimit = "board-past-limit" [];
    BoardUnreached = "board-unreached" [];
    BoardRunsOut = "board-runs-out" [];
    BoardPaused = "board-paused" [];
    BoardUnconfirmed = "board-unconfirmed" [];
    BoardBrief = "board-brief" [PATIENT, line("owner"), count("given"), count("doses")];

    PatientGiven = "patient-given" [at("planned"), at("given_at"), VOLUME, line("by")];
    PatientNotGiven = "patient-not-given" [at("planned"), line("by")];
    PatientUnanswered = "patient-unanswered" [at("planned")];
    PatientOpen = "patient-open" [at("planned")];
    PatientVial = "patient-vial" [count("vial"), Fact::new("state", Shape::Code(&["in-use", "empty", "past-limit", "discarded"])), at("mixed_at"), at("discard_by"), volume("remaining_ml")];
    PatientAlert = "patient-alert" [ABOUT, Fact::new("seen", Shape::Code(&["yes", "no"])), at("at")];

    CalendarName = "calendar-name" [PATIENT];
    CalendarEvent = "calendar-event" [PATIENT, VOLUME];
    CalendarDetails = "calendar-details" [VOLUME, SYRINGE, CLINIC, PHONE];

    SheetKind = "sheet-kind" [];
    SheetFor = "sheet-for" [line("species"), line("weight"), line("owner")];
    SheetCall = "sheet-call" [];
    SheetCallClosed = "sheet-call-closed" [];
    SheetEachDose = "sheet-each-dose" [];
    SheetAt = "sheet-at" [TIMES];
    SheetSyringe = "sheet-syringe" [SYRINGE];
    SheetMark = "sheet-mark" [volume("mark_ml")];
    SheetOrdered = "sheet-ordered" [line("product"), line("ordered"), line("veterinarian")];
    SheetCourse = "sheet-course" [count("doses"), at("first"), at("last")];
    SheetVial = "sheet-vial" [];
    SheetDiluent = "sheet-diluent" [DILUENT, line("diluent"), volume("available_ml")];
    SheetDiscard = "sheet-discard" [count("hours"), count("days").maybe()];
    SheetMixing = "sheet-mixing" [];
    SheetDrawingUp = "sheet-drawing-up" [];
    SheetInjecting = "sheet-injecting" [];
    SheetSharps = "sheet-sharps" [];
    SheetNoSteps = "sheet-no-steps" [PHONE];
    SheetMoreSteps = "sheet-more-steps" [PHONE];
    SheetTable = "sheet-table" [];
    SheetTableHow = "sheet-table-how" [];
    SheetTableMixed = "sheet-table-mixed" [];
    SheetTableEnds = "sheet-table-ends" [at("last")];
    SheetSupplies = "sheet-supplies" [];
    SheetSupplyVials = "sheet-supply-vials" [count("vials"), DILUENT];
    SheetSupplySyringes = "sheet-supply-syringes" [count("syringes"), SYRINGE];
    SheetSupplyNeedles = "sheet-supply-needles" [count("needles")];
    SheetSupplyMixing = "sheet-supply-mixing" [count("syringes")];
    SheetSupplySharps = "sheet-supply-sharps" [count("containers"), line("size")];
    SheetCautions = "sheet-cautions" [];
    SheetCautionLines = "sheet-caution-lines" [];
    SheetScan = "sheet-scan" [];
    SheetScanUntil = "sheet-scan-until" [at("until")];
    SheetPrinted = "sheet-printed" [at("printed"), CLINIC];

    PictureTitle = "picture-title" [PATIENT, VOLUME];
    PictureGiven = "picture-given" [count("given"), count("doses")];
    PictureNotGiven = "picture-not-given" [count("count")];
    PictureUnanswered = "picture-unanswered" [count("count")];
    PictureKeyGiven = "picture-key-given" [];
    PictureKeyNotGiven = "picture-key-not-given" [];
    PictureKeyUnanswered = "picture-key-unanswered" [];
    PictureKeyPlanned = "picture-key-planned" [];
    PictureKeyLimit = "picture-key-limit" [];
    PictureVials = "picture-vials" [];
    PictureVial = "picture-vial" [count("vial")];
    PictureNow = "picture-now" [at("now")];
    PictureSpan = "picture-span" [at("first"), at("last")];
}

/// What of the facts breaks the contract of a phrase.
pub(super) fn breaches(phrase: Phrase, facts: &[(&str, Value)]) -> Vec<String> {
    let declared = phrase.facts();
    let mut found = Vec::new();
    for fact in declared {
        match facts.iter().find(|(key, _)| *key == fact.key) {
            None if !fact.optional => found.push(format!("no {}", fact.key)),
            Some((_, value)) if !fits(value, fact.shape) => {
                found.push(format!("{} is {value:?}", fact.key));
            }
            _ => {}
        }
    }
    for (key, _) in facts {
        if declared.iter().all(|fact| fact.key != *key) {
            found.push(format!("{key} is no fact of this phrase"));
        }
    }
    found
}
