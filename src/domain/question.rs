//! What an owner can ask and have answered from the order and the books alone.

/// A part of the day that names one of two daily doses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DayPart {
    /// The morning dose.
    Morning,
    /// The afternoon, evening or night dose.
    Evening,
}

/// One question that has one computed answer.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Question {
    /// How many mL should be in the open vial.
    Remaining,
    /// How many doses the open vial still holds.
    DosesLeft,
    /// Until when the mixed vial may be used.
    DiscardBy,
    /// When the open vial was mixed.
    MixedAt,
    /// When the next dose is planned.
    NextDose,
    /// When, by whom, and whether the last dose was given.
    LastDose {
        /// The dose of the day that was asked about ("was the morning dose given").
        part: Option<DayPart>,
    },
    /// How many mL one dose is.
    Volume,
    /// Which diluent, and how many mL of it, go into a vial.
    Diluent,
    /// Which syringe to use.
    Syringe,
    /// How much of the course is left and when it ends.
    CourseLeft,
    /// What is left at home, and when it runs out.
    Supplies,
    /// The planned times of the day.
    Schedule,
    /// The clinic's phone and opening hours.
    ClinicContact,
    /// What this program can do.
    Help,
    /// The clinic's own protocol, step by step.
    Steps(StepTopic),
    /// The clinic's standing note with this key.
    Note(String),
}

/// The procedures for which a clinic writes steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StepTopic {
    /// Powder and diluent become a mixed vial.
    Mixing,
    /// From the vial into the syringe.
    DrawingUp,
    /// Under the skin.
    Injecting,
    /// Used needles and syringes.
    Sharps,
}
