//! Noise floor, sums and means of levels, and the interference that a rise of the floor tells of.
//!
//! Powers add, decibels do not: every sum here is made in watts.

use crate::units::{Db, Dbm, Hertz};

/// Boltzmann's constant, J/K, exact ([`crate::sources::SI2019`]).
const BOLTZMANN: f64 = 1.380_649e-23;

/// Reference temperature of noise figures, K ([`crate::sources::P372`]).
const REFERENCE_KELVIN: f64 = 290.0;

/// How much less the mean of decibels is than the decibels of the mean power when the signal is noise (an exponentially
/// distributed power): 10 γ/ln 10 with Euler's constant γ, 2.51 dB. Add it to the readings of a display that averages its
/// logarithmic trace.
pub const LOG_AVERAGE_DEFICIT: Db = Db::new(10.0 * 0.577_215_664_901_532_9 / std::f64::consts::LN_10);

/// Noise power of a receiver, k T₀ B plus its noise figure: −174 dBm + 10 log10 B + NF, with the constant exact,
/// −173.975 dBm in 1 Hz ([`crate::sources::P372`], [`crate::sources::SI2019`]). Noise from outside (P.372) comes on top
/// and is more than this below about 100 MHz in towns.
///
/// `None` unless the bandwidth is finite and positive.
pub fn noise_floor(bandwidth: Hertz, figure: Db) -> Option<Dbm> {
    let hertz = bandwidth.value();
    (hertz > 0.0 && hertz.is_finite())
        .then(|| Dbm::new(10.0 * (BOLTZMANN * REFERENCE_KELVIN * hertz / 1e-3).log10()) + figure)
}

fn milliwatts(level: Dbm) -> f64 {
    10f64.powf(level.value() / 10.0)
}

/// Level of the sum of powers. Two equal levels make 3.01 dB more. `None` for an empty slice.
pub fn power_sum(levels: &[Dbm]) -> Option<Dbm> {
    let sum: f64 = levels.iter().map(|l| milliwatts(*l)).sum();
    (!levels.is_empty()).then(|| Dbm::new(10.0 * sum.log10()))
}

/// How a meter forms the mean of a fluctuating level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Averaging {
    /// The mean of powers, then decibels: true power.
    Power,
    /// The mean of decibels: never more than the true power.
    Decibels,
}

/// Mean of `levels`. `None` for an empty slice.
pub fn mean(levels: &[Dbm], averaging: Averaging) -> Option<Dbm> {
    let n = levels.len() as f64;
    match averaging {
        Averaging::Power => power_sum(levels).map(|sum| sum + Db::of_ratio(1.0 / n)),
        Averaging::Decibels => {
            let sum: f64 = levels.iter().map(|l| l.value()).sum();
            (!levels.is_empty()).then(|| Dbm::new(sum / n))
        }
    }
}

/// How a rise of the floor was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// Receiver's level without interference.
    pub floor: Dbm,
    /// Share of the averaging time in which the interferer transmits, in (0, 1].
    pub share: f64,
    /// How the meter averages.
    pub averaging: Averaging,
}

impl Rise {
    fn valid(&self) -> bool {
        self.share > 0.0 && self.share <= 1.0 && self.floor.value().is_finite()
    }

    /// Rise of the averaged level above the floor when an interferer of level `interference` is on for the share p of the
    /// time: 10 log10(1 + p i) where powers are averaged, p · 10 log10(1 + i) where decibels are, i = I/N (powers add;
    /// no other source needed). The second is the smaller: an interferer 10 dB above the floor for a tenth of the time
    /// raises the mean of powers by 3 dB, that of decibels by 1 dB.
    ///
    /// `None` unless the share lies in (0, 1] and the floor is finite.
    pub fn of(&self, interference: Dbm) -> Option<Db> {
        let i = (interference - self.floor).to_ratio();
        self.valid().then(|| match self.averaging {
            Averaging::Power => Db::of_ratio(1.0 + self.share * i),
            Averaging::Decibels => Db::new(self.share * Db::of_ratio(1.0 + i).value()),
        })
    }

    /// Level of the interferer while it is on; the inverse of [`Rise::of`].
    ///
    /// `None` unless the rise is finite and greater than zero: no rise means only that the interferer lies below what this
    /// receiver can tell.
    pub fn interference(&self, rise: Db) -> Option<Dbm> {
        if !(self.valid() && rise.value() > 0.0 && rise.value().is_finite()) {
            return None;
        }
        let i = match self.averaging {
            Averaging::Power => (rise.to_ratio() - 1.0) / self.share,
            Averaging::Decibels => Db::new(rise.value() / self.share).to_ratio() - 1.0,
        };
        Some(self.floor + Db::of_ratio(i))
    }
}
