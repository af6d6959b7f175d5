//! What a receiver makes of the power at its antenna: noise, a floor, an attenuator, an offset, steps.

use crate::{
    numeric::{portable, random::Random},
    observe::Level,
    simulate::{Fading, Refusal, refusal, refusal::within},
    units::{Db, Dbm},
};

/// What a receiver shows when there is little or nothing to hear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Below {
    /// Its own noise, as a meter does: the reading is the sum of the powers of signal and noise.
    Noise,
    /// Nothing above its floor, which lies so far above its noise.
    Floor(Db),
    /// Nothing above its floor, which is set so that this share of the readings lies below it. Its noise lies 10 dB lower,
    /// whatever [`Receiver::noise`] says.
    Share(f64),
}

/// An attenuator that the operator puts in front of the receiver where levels are high.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attenuator {
    /// Level at the antenna above which it is put in.
    pub above: Dbm,
    /// How much it takes away.
    pub pad: Db,
}

/// A receiver with an antenna of 0 dBi.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Receiver {
    /// Power of its own noise in its bandwidth.
    pub noise: Dbm,
    /// Independent samples whose powers it averages; they make its noise scatter, and the signal in it.
    pub samples: u32,
    /// What it shows where it hears nothing.
    pub below: Below,
    /// Its steps: 0.1 or 1 dB, as a rule; 0 for none.
    pub step: Db,
    /// Attenuator, if the operator has one.
    pub attenuator: Option<Attenuator>,
    /// Standard deviation of its calibration: each walk has one receiver with one error. 0 for none.
    pub calibration: Db,
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shown {
    /// At the antenna: the attenuator is added.
    pub level: Level,
    /// As the receiver shows it; its floor where it shows nothing above that.
    pub indicated: f64,
    /// The attenuator that was in.
    pub pad: f64,
    /// The floor at the antenna, where there is one.
    pub floor: Option<f64>,
}

/// How far the noise lies below a floor that was set by its share.
const BELOW_SET_FLOOR_DB: f64 = 10.0;

impl Receiver {
    /// # Errors
    /// Numbers that no receiver has.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        within("a noise power", self.noise.value(), -200.0..=30.0, "write -200 to 30 dBm, such as -120")?;
        within("a number of samples", f64::from(self.samples), 1.0..=1e5, "write 1 to 100000")?;
        within("a step of the receiver", self.step.value(), 0.0..=10.0, "write 0 (none) to 10 dB")?;
        let hint = "write a standard deviation of 0 to 30 dB";
        within("a calibration", self.calibration.value(), 0.0..=30.0, hint)?;
        match self.below {
            Below::Noise => {}
            Below::Floor(above) => {
                within("a floor above the noise", above.value(), -20.0..=60.0, "write -20 to 60 dB")?;
            }
            Below::Share(s) => refusal::share("a share of readings below the floor", s)?,
        }
        match self.attenuator {
            Some(a) => within("an attenuator", a.pad.value(), 0.0..=120.0, "write 0 to 120 dB"),
            None => Ok(()),
        }
    }

    /// Readings of `powers` in milliwatts at the antenna.
    pub(super) fn read(&self, powers: &[f64], random: &mut Random) -> Vec<Shown> {
        let offset = self.calibration.value() * random.normal();
        let (noise, floor) = match self.below {
            Below::Noise => (self.noise.value(), None),
            Below::Floor(above) => (self.noise.value(), Some(self.noise.value() + above.value())),
            Below::Share(share) => {
                let level = below(powers, share);
                let noise = level - BELOW_SET_FLOOR_DB;
                // What is read at that level is the sum with the noise.
                let sum = portable::to_db(portable::from_db(level) + portable::from_db(noise));
                (noise, Some(sum + offset))
            }
        };
        powers.iter().map(|p| self.shown(*p, noise, floor, offset, random)).collect()
    }

    fn shown(&self, power: f64, noise: f64, floor: Option<f64>, offset: f64, random: &mut Random) -> Shown {
        let high = |a: &Attenuator| portable::to_db(power) > a.above.value();
        let pad = self.attenuator.filter(high).map_or(0.0, |a| a.pad.value());
        // Seen from the antenna, an attenuator raises the receiver's noise by what it takes away.
        let noise = portable::from_db(noise + pad);
        let steady = Fading { steady: power / noise, samples: self.samples };
        let sum = (power + noise) * steady.draw(random);
        let indicated = stepped(portable::to_db(sum) - pad + offset, self.step.value());
        let floor = floor.map(|f| stepped(f, self.step.value()));
        match floor {
            Some(floor) if indicated <= floor => Shown {
                level: Level::BelowFloor(Dbm::new(floor + pad)),
                indicated: floor,
                pad,
                floor: Some(floor + pad),
            },
            _ => Shown {
                level: Level::Measured(Dbm::new(indicated + pad)),
                indicated,
                pad,
                floor: floor.map(|f| f + pad),
            },
        }
    }
}

/// The level below which a share of the powers lies, in dBm.
fn below(powers: &[f64], share: f64) -> f64 {
    let mut sorted: Vec<f64> = powers.iter().map(|p| portable::to_db(p.max(1e-30))).collect();
    sorted.sort_by(f64::total_cmp);
    let rank = share * sorted.len() as f64;
    match (sorted.first(), sorted.last()) {
        (Some(low), Some(high)) => {
            let at = |i: usize| sorted.get(i).copied();
            match rank as usize {
                0 => low - 20.0,
                i => at(i).map_or(high + 20.0, |upper| 0.5 * (sorted[i - 1] + upper)),
            }
        }
        _ => 0.0,
    }
}

/// To the nearest step.
pub(super) fn stepped(value: f64, step: f64) -> f64 {
    if step > 0.0 { (value / step).round() * step } else { value }
}
