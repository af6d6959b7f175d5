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
    /// Written down a second time.
    Repeated,
    /// The place 0, 0.
    ZeroPlace,
    /// A place that lies among the others with latitude and longitude swapped, or a sign changed.
    Misplaced,
    /// A place far from all others.
    Far,
    /// A number that stands for nothing heard.
    Filler,
    /// Below the thermal noise of the bandwidth.
    BelowHeat,
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
    pub const ALL: [Self; 15] = [
        Self::OffAir,
        Self::MaybeOffAir,
        Self::NoPlace,
        Self::NoFix,
        Self::Jump,
        Self::PoorFix,
        Self::Compressed,
        Self::Product,
        Self::Stuck,
        Self::Repeated,
        Self::ZeroPlace,
        Self::Misplaced,
        Self::Far,
        Self::Filler,
        Self::BelowHeat,
    ];

    /// Whether the number is none that a receiver measured.
    pub(super) const fn no_measurement(self) -> bool {
        matches!(self, Self::Filler | Self::BelowHeat | Self::Stuck | Self::Product)
    }

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
            Self::Repeated => "level-repeated",
            Self::ZeroPlace => "place-zero",
            Self::Misplaced => "place-swapped",
            Self::Far => "place-far",
            Self::Filler => "level-filler",
            Self::BelowHeat => "level-below-heat",
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
            Self::Stuck => "come from a receiver whose level does not change",
            Self::Repeated => "repeat another with the same receiver, time, place and level",
            Self::ZeroPlace => "have the place 0, 0, far from the others",
            Self::Misplaced => {
                "lie among the others once latitude and longitude are swapped or a sign is changed"
            }
            Self::Far => "lie more than 50 km from the others, and ten times as far as three in four of them",
            Self::Filler => "are all alike and 20 dB from every other: a number written for nothing heard?",
            Self::BelowHeat => {
                "lie below the thermal noise of their bandwidth, or of 1 Hz: no receiver shows that"
            }
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
            Self::Repeated => "name each file once, and take out what was copied",
            Self::ZeroPlace => "receivers write this without a fix: join a track, or leave the cells empty",
            Self::Misplaced => "correct the coordinates in the file",
            Self::Far => "check the coordinates; a log of another place belongs into another case",
            Self::Filler => "write off while the emitter is off, and <-114 for nothing above a floor of -114",
            Self::BelowHeat => {
                "check the number, its unit and the bandwidth; write <-114 for nothing above a floor"
            }
        }
    }
}
