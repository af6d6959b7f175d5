//! Where a satellite receiver says that somebody is.

use crate::{
    geodesy::PlanePoint,
    numeric::{portable, random::Random},
    simulate::{Refusal, refusal::within},
    units::Metres,
};

/// Errors of a satellite receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Positioning {
    /// Standard deviation in each of the two directions, under an open sky; 0 for none.
    pub sigma: Metres,
    /// Seconds over which the correlation of the error falls to 1/e ([`crate::sources::GELB1974`]).
    pub correlation: f64,
    /// How many times larger the error is where buildings stand all round; between, in proportion to
    /// [`crate::simulate::Town::enclosure`].
    pub canyon: f64,
    /// Share of readings that are thrown aside, one to three in a row, below 0.5.
    pub jumps: f64,
    /// How far they are thrown, from half of this to one and a half of it.
    pub jump: Metres,
    /// Share of readings without a fix, two to eight in a row, below 0.9.
    pub lost: f64,
}

impl Positioning {
    /// No errors.
    pub const EXACT: Self = Self {
        sigma: Metres::new(0.0),
        correlation: 60.0,
        canyon: 1.0,
        jumps: 0.0,
        jump: Metres::new(100.0),
        lost: 0.0,
    };

    /// # Errors
    /// Numbers outside of their ranges.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        within("an error of positions", self.sigma.value(), 0.0..=1e4, "write 0 to 10000 m, such as 3")?;
        let hint = "write 0.001 to 1000000 s, such as 60";
        within("a correlation time of positions", self.correlation, 1e-3..=1e6, hint)?;
        within("a factor of canyons", self.canyon, 1.0..=100.0, "write 1 to 100, such as 4")?;
        within("a share of jumps", self.jumps, 0.0..=0.5, "write 0 to 0.5")?;
        within("a length of jumps", self.jump.value(), 0.0..=1e5, "write 0 to 100000 m")?;
        within("a share of lost fixes", self.lost, 0.0..=0.9, "write 0 to 0.9")
    }
}

/// What the receiver says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Said {
    /// How far off it is; `None` without a fix.
    pub off: Option<PlanePoint>,
    /// Dilution of precision. It tells only the square root of what buildings add: receivers do not know how wrong they are.
    pub hdop: f64,
    /// The place is thrown aside.
    pub jump: bool,
}

/// A receiver underway.
#[derive(Clone, Debug)]
pub(super) struct Underway {
    plan: Positioning,
    /// The error in standard deviations.
    state: (f64, f64),
    thrown: PlanePoint,
    jumping: usize,
    lost: usize,
}

/// Mean lengths of the runs that are drawn below.
const JUMP_RUN: f64 = 2.0;
const LOST_RUN: f64 = 5.0;

/// Metres of error per unit of dilution: common practice, no source.
pub(super) const METRES_PER_HDOP: f64 = 5.0;

impl Underway {
    pub(super) fn new(plan: Positioning, random: &mut Random) -> Self {
        let state = (random.normal(), random.normal());
        Self { plan, state, thrown: PlanePoint { east: 0.0, north: 0.0 }, jumping: 0, lost: 0 }
    }

    /// What it says `seconds` after the last time, at a place with this enclosure.
    pub(super) fn next(&mut self, seconds: f64, enclosure: f64, random: &mut Random) -> Said {
        let kept = portable::exp(-seconds / self.plan.correlation);
        let fresh = (1.0 - kept * kept).max(0.0).sqrt();
        self.state.0 = kept * self.state.0 + fresh * random.normal();
        self.state.1 = kept * self.state.1 + fresh * random.normal();
        self.runs(random);
        let growth = 1.0 + (self.plan.canyon - 1.0) * enclosure;
        let sigma = self.plan.sigma.value() * growth;
        let aside = if self.jumping > 0 { self.thrown } else { PlanePoint { east: 0.0, north: 0.0 } };
        let off =
            PlanePoint { east: sigma * self.state.0 + aside.east, north: sigma * self.state.1 + aside.north };
        let told = self.plan.sigma.value() * growth.sqrt() / METRES_PER_HDOP;
        let hdop = (told * (1.0 + 0.1 * random.normal())).clamp(0.1, 20.0);
        Said {
            off: (self.lost == 0).then_some(off),
            hdop: (10.0 * hdop).round() / 10.0,
            jump: self.jumping > 0,
        }
    }

    fn runs(&mut self, random: &mut Random) {
        self.jumping = self.jumping.saturating_sub(1);
        self.lost = self.lost.saturating_sub(1);
        if self.jumping == 0 && random.happens(begins(self.plan.jumps, JUMP_RUN)) {
            self.jumping = 1 + random.index(3);
            let far = self.plan.jump.value() * random.between(0.5, 1.5);
            let (sin, cos) = portable::sin_cos(std::f64::consts::TAU * random.uniform());
            self.thrown = PlanePoint { east: far * sin, north: far * cos };
        }
        if self.lost == 0 && random.happens(begins(self.plan.lost, LOST_RUN)) {
            self.lost = 2 + random.index(7);
        }
    }
}

/// Probability that a run begins at a reading, so that runs of this mean length take this share of all readings: a run may
/// follow at once upon another, so that on average (1 − p)/p readings lie between two.
fn begins(share: f64, length: f64) -> f64 {
    share / (share + length * (1.0 - share))
}
