//! The labels, and what is said about each.

/// Why a reading is left out or looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Label {
    /// Taken while the emitter was off.
    OffAir,
    /// Perhaps taken while the emitter was off.
    MaybeOffAir,
    /// No place.
    NoPlace,
    /// A place without a fix.
    NoFix,
    /// A place that nobody could have gone to and come back from.
    Jump,
    /// A place with a large dilution of precision.
    PoorFix,
    /// The receiver was overloaded and shows too little.
    Compressed,
    /// A product made in the receiver.
    Product,
    /// The receiver shows the same level everywhere.
    Stuck,
}

/// A set of labels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Labels(u16);

impl Labels {
    /// Adds one.
    pub const fn add(&mut self, label: Label) {
        self.0 |= 1 << label as u16;
    }

    /// Whether it holds one.
    pub const fn has(self, label: Label) -> bool {
        self.0 & (1 << label as u16) != 0
    }

    /// Those it holds.
    pub fn iter(self) -> impl Iterator<Item = Label> {
        Label::ALL.into_iter().filter(move |l| self.has(*l))
    }
}

impl Label {
    /// All labels.
    pub const ALL: [Self; 9] = [
        Self::OffAir,
        Self::MaybeOffAir,
        Self::NoPlace,
        Self::NoFix,
        Self::Jump,
        Self::PoorFix,
        Self::Compressed,
        Self::Product,
        Self::Stuck,
    ];

    /// Whether a fit leaves out what has it. What is only doubted stays in.
    pub const fn leaves_out(self) -> bool {
        !matches!(self, Self::MaybeOffAir | Self::PoorFix | Self::Compressed)
    }

    /// Stable name for programs.
    pub const fn code(self) -> &'static str {
        match self {
            Self::OffAir => "off-air",
            Self::MaybeOffAir => "maybe-off-air",
            Self::NoPlace => "level-without-place",
            Self::NoFix => "level-without-fix",
            Self::Jump => "position-jump",
            Self::PoorFix => "poor-fix",
            Self::Compressed => "compressed",
            Self::Product => "receiver-product",
            Self::Stuck => "level-never-changes",
        }
    }

    /// What is the case, behind "readings".
    pub const fn reason(self) -> &'static str {
        match self {
            Self::OffAir => "were taken while the emitter was off",
            Self::MaybeOffAir => "lie at the floor between strong ones: was the emitter off?",
            Self::NoPlace => "have no place",
            Self::NoFix => "have a place that is no fix",
            Self::Jump => "lie where nobody could have gone to and come back from in the time",
            Self::PoorFix => "have a dilution of precision above 5",
            Self::Compressed => "look compressed: the receiver shows less than there is",
            Self::Product => "rise faster than the attenuator is taken out: made in the receiver",
            Self::Stuck => "come from a receiver whose level never changes",
        }
    }

    /// What to do about it.
    pub const fn hint(self) -> &'static str {
        match self {
            Self::OffAir => "walk there again while it is on",
            Self::MaybeOffAir => "add the log of a receiver that stood still, or look at the times",
            Self::NoPlace | Self::NoFix => "join a track, or write down where it was",
            Self::Jump => "look at the track there: reflections between buildings do this",
            Self::PoorFix => "their places may be off by tens of metres",
            Self::Compressed | Self::Product => "measure again with an attenuator, and note it",
            Self::Stuck => "check the receiver, its input and its setting",
        }
    }
}
