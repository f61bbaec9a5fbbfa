//! What a word can stand for, the same in every language.

/// What a word or a phrase stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub(super) enum C {
    // Known and harmless; says nothing.
    Filler,
    // Known, and says something: harmless beside a question, not beside a record.
    Loose,
    // Known, and about the home, not about the treatment.
    Aside,
    // Food at its time: harmless beside a record, no part of a question.
    Meal,
    // Known, not harmless: it stands for something the reader has no use for.
    Other,

    // What happens to a dose.
    Gave,
    GavePart,
    Give,
    Done,
    Got,
    Missed,
    // What happens to a vial.
    Mixed,
    Mix,
    Put,
    Discarded,
    Discard,
    TookOut,
    WasOut,
    Return,
    DrawUp,

    // Things.
    Dose,
    Doses,
    Vial,
    Vials,
    Water,
    Powder,
    Medicine,
    Syringe,
    Syringes,
    Needle,
    Supply,
    Fridge,
    Bin,
    Course,
    Clinic,
    Phone,
    Level,
    Steps,

    // Asking.
    HowMuch,
    HowMany,
    When,
    UntilWhen,
    HowLong,
    HowOften,
    HowOld,
    Who,
    Which,
    What,
    How,
    Where,
    Why,
    Aux,
    Tell,

    // Qualities.
    Left,
    Hold,
    More,
    Enough,
    RunOut,
    Size,
    Total,
    Last,
    Next,
    Due,
    Expire,
    New,
    Old,
    Open,
    Closed,
    Date,
    Day,
    Week,
    Minute,
    Hour,
    Each,
    Daily,
    Ml,
    Have,
    Number,
    Times,
    Out,
    Back,
    Use,
    End,
    Part,
    Whole,
    About,
    Second,

    // Whether.
    Neg,
    Yet,
    Still,
    Future,
    Hedge,
    If,
    Can,
    Should,
    Must,
    Would,
    Want,

    // Who.
    I,
    Beast,
    Pet,
    Person,
    Carer,
    Somebody,

    // When.
    Now,
    Ago,
    Morning,
    Evening,
    Today,
    Yesterday,
    Tomorrow,
    Am,
    Pm,
    At,
    Half,

    // Between.
    And,
    Because,
    Yes,
    No,
    Greet,
    Thanks,
    Help,
    Undo,
    Place,
    Bot,

    // Trouble: one of these is enough for a person to look.
    Symptom,
    Judge,
    WrongDose,
    Change,
    OtherDrug,
    OtherAnimal,
    Human,
    Quality,
    Units,
    Visit,
    Jailbreak,
}

/// A set of what a word can stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Set([u64; 3]);

impl Set {
    /// Everything.
    pub const ALL: Self = Self([u64::MAX; 3]);

    // Most are asked about with what is known when it is compiled.
    #[inline]
    pub const fn of(concepts: &[C]) -> Self {
        let mut bits = [0; 3];
        let mut at = 0;
        while at < concepts.len() {
            let place = concepts[at] as usize;
            bits[place / 64] |= 1 << (place % 64);
            at += 1;
        }
        Self(bits)
    }

    pub const fn has(self, concept: C) -> bool {
        let place = concept as usize;
        self.0[place / 64] & (1 << (place % 64)) != 0
    }

    pub const fn any(self, of: Self) -> bool {
        self.0[0] & of.0[0] != 0 || self.0[1] & of.0[1] != 0 || self.0[2] & of.0[2] != 0
    }

    pub const fn is_empty(self) -> bool {
        self.0[0] == 0 && self.0[1] == 0 && self.0[2] == 0
    }

    /// Both.
    pub const fn with(self, other: Self) -> Self {
        Self([
            self.0[0] | other.0[0],
            self.0[1] | other.0[1],
            self.0[2] | other.0[2],
        ])
    }

    /// True when it holds this and nothing else.
    pub fn only(self, concept: C) -> bool {
        self == Self::of(&[concept])
    }

    pub fn add(&mut self, concept: C) {
        self.join(Self::of(&[concept]));
    }

    pub fn join(&mut self, other: Self) {
        for (bits, more) in self.0.iter_mut().zip(other.0) {
            *bits |= more;
        }
    }
}
