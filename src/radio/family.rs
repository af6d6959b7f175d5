//! Families of antenna patterns in the horizontal plane, with their slopes: what a level does while an antenna turns.

use std::f64::consts::{LN_10, PI};

use crate::{
    radio::Lobe,
    units::{Angle, Db},
};

/// How an antenna's gain runs around the horizon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// A main lobe above a floor, as Yagi, log-periodic and panel antennas have ([`Lobe`]).
    Lobe,
    /// A loop with a sense antenna: one broad peak, one sharp null opposite to it.
    Cardioid,
    /// A loop or a dipole alone: two peaks and two sharp nulls; it cannot tell front from back.
    FigureOfEight,
    /// A rod held before the body, which shades the back: one broad peak, one broad dip.
    Body,
}

impl Family {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Lobe, Self::Cardioid, Self::FigureOfEight, Self::Body];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Lobe => "main lobe",
            Self::Cardioid => "cardioid",
            Self::FigureOfEight => "figure of eight",
            Self::Body => "body shadow",
        }
    }

    /// Whether a direction and its reverse look alike.
    pub const fn two_way(self) -> bool {
        matches!(self, Self::FigureOfEight)
    }
}

/// A pattern of a [`Family`] as attenuation against its peak. Angles are measured from the peak and may be any finite
/// angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pattern {
    family: Family,
    beamwidth: Angle,
    depth: Db,
}

impl Pattern {
    /// From the full half-power beamwidth, which only [`Family::Lobe`] uses, and the depth below the peak of what lies
    /// lowest: the back of a lobe, the nulls of a cardioid and of a figure of eight, the shadow of a body. `None` unless
    /// the beamwidth lies above 0° and at most at 360°, and the depth is finite and above 0 dB.
    pub fn new(family: Family, beamwidth: Angle, depth: Db) -> Option<Self> {
        Lobe::new(beamwidth, depth).map(|_| Self { family, beamwidth, depth })
    }

    /// Its family.
    pub const fn family(&self) -> Family {
        self.family
    }

    /// Its depth.
    pub const fn depth(&self) -> Db {
        self.depth
    }

    /// Attenuation against the peak, never negative.
    ///
    /// - Lobe: min(12 (θ/θ₃)², D) ([`crate::sources::TR38901`], Table 7.3-1);
    /// - cardioid: the voltage of a loop and a rod together, (1 + k cos θ)/(1 + k), with k so that the back lies D below
    ///   the front; k = 1 is the pure cardioid ([`crate::sources::KRAUS2002`]);
    /// - figure of eight: the power of a small loop or dipole, cos² θ, filled up by what the nulls of a real one let
    ///   through, cos² θ + 10^(−D/10) sin² θ ([`crate::sources::BALANIS2005`]);
    /// - body: D (1 − cos θ)/2, the first harmonic in decibels. Common practice, no source.
    pub fn attenuation(&self, off: Angle) -> Db {
        let (d, x) = (self.depth.value(), off.to_radians());
        Db::new(match self.family {
            Family::Lobe => self.lobe().map_or(0.0, |lobe| lobe.attenuation(off).value()),
            Family::Cardioid => {
                let k = self.share();
                -20.0 * ((1.0 + k * x.cos()) / (1.0 + k)).log10()
            }
            Family::FigureOfEight => -10.0 * self.power(x).log10(),
            Family::Body => 0.5 * d * (1.0 - x.cos()),
        })
    }

    /// Derivative of [`Pattern::attenuation`] by the angle, in dB per radian.
    pub fn slope(&self, off: Angle) -> f64 {
        let (d, x) = (self.depth.value(), off.to_radians());
        match self.family {
            Family::Lobe => self.lobe().map_or(0.0, |lobe| lobe.slope(off)),
            Family::Cardioid => {
                let k = self.share();
                20.0 / LN_10 * k * x.sin() / (1.0 + k * x.cos())
            }
            Family::FigureOfEight => 10.0 / LN_10 * (1.0 - self.fill()) * (2.0 * x).sin() / self.power(x),
            Family::Body => 0.5 * d * x.sin(),
        }
    }

    /// Derivative by the natural logarithm of the beamwidth, in dB; zero where the beamwidth has no part in it.
    pub fn by_log_beamwidth(&self, off: Angle) -> f64 {
        let attenuation = self.attenuation(off).value();
        let inside = self.family == Family::Lobe && attenuation < self.depth.value();
        if inside { -2.0 * attenuation } else { 0.0 }
    }

    /// Derivative by the depth, without unit.
    pub fn by_depth(&self, off: Angle) -> f64 {
        let x = off.to_radians();
        match self.family {
            Family::Lobe => f64::from(u8::from(self.attenuation(off) >= self.depth)),
            Family::Cardioid => {
                let k = self.share();
                // dk/dD from k = tanh(D ln 10/40).
                let growth = LN_10 / 40.0 * (1.0 - k * k);
                20.0 / LN_10 * (1.0 / (1.0 + k) - x.cos() / (1.0 + k * x.cos())) * growth
            }
            Family::FigureOfEight => self.fill() * x.sin().powi(2) / self.power(x),
            Family::Body => 0.5 * (1.0 - x.cos()),
        }
    }

    /// Full width at half power; 360° where nothing lies 3 dB down.
    pub fn half_power_width(&self) -> Angle {
        const HALF: f64 = 3.010_299_956_639_812;
        if self.family == Family::Lobe && self.depth.value() > 3.0 {
            return self.beamwidth;
        }
        // Each of the others falls steadily to its lowest direction.
        let lowest = if self.family.two_way() { 0.5 * PI } else { PI };
        if self.attenuation(Angle::radians(lowest)).value() <= HALF {
            return Angle::degrees(360.0);
        }
        let (mut low, mut high) = (0.0, lowest);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let down = self.attenuation(Angle::radians(middle)).value() > HALF;
            if down { high = middle } else { low = middle }
        }
        Angle::radians(2.0 * low)
    }

    /// Directions of the nulls against the peak: none for a lobe, whose floor is even.
    pub fn nulls(&self) -> &'static [f64] {
        match self.family {
            Family::Lobe => &[],
            Family::Cardioid | Family::Body => &[PI],
            Family::FigureOfEight => &[0.5 * PI, 1.5 * PI],
        }
    }

    fn lobe(&self) -> Option<Lobe> {
        Lobe::new(self.beamwidth, self.depth)
    }

    /// Share k of the loop in a cardioid: (r − 1)/(r + 1) with r the ratio of the voltages of front and back.
    fn share(&self) -> f64 {
        (self.depth.value() * LN_10 / 40.0).tanh()
    }

    /// What the nulls of a figure of eight let through.
    fn fill(&self) -> f64 {
        10f64.powf(-self.depth.value() / 10.0)
    }

    fn power(&self, x: f64) -> f64 {
        x.cos().powi(2) + self.fill() * x.sin().powi(2)
    }
}
