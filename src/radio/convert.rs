//! From what a receiver reads to field strength and power density, and back.
//!
//! Gains are over an isotropic antenna (dBi), voltages across the load. Everything here is exact arithmetic: any finite
//! number is allowed unless a function says otherwise, and nothing fails. Infinities mean what they say: no power is a
//! level of minus infinity.

use std::f64::consts::PI;

use crate::units::{
    Db, DbMicrovolt, DbMicrovoltPerMetre, DbPerMetre, Dbm, Hertz, Metres, Ohms, SquareMetres, Watts,
    WattsPerSquareMetre,
};

/// The usual input resistance of measuring receivers.
pub const FIFTY_OHMS: Ohms = Ohms::new(50.0);

/// The usual input resistance of broadcast receivers.
pub const SEVENTY_FIVE_OHMS: Ohms = Ohms::new(75.0);

/// Impedance of free space as [`crate::sources::P525`] takes it, 120π Ω, so that E = √(30 P)/d holds; the measured
/// value, 376.730 Ω, would make power densities 0.003 dB more.
pub const FREE_SPACE_IMPEDANCE: Ohms = Ohms::new(120.0 * PI);

/// dBm of a volt across an ohm: V²/R in milliwatts, with V in microvolts.
const DBM_OF_DBUV_OHM: f64 = -90.0;

fn decibels(ratio: f64) -> f64 {
    10.0 * ratio.log10()
}

/// Voltage across `load` that carries the power `level`: dBµV = dBm + 90 + 10 log10 R, which is dBm + 106.99 at 50 Ω and
/// dBm + 108.75 at 75 Ω (Joule's law; no other source needed). `load` must be positive.
pub fn voltage(level: Dbm, load: Ohms) -> DbMicrovolt {
    DbMicrovolt::new(level.value() - DBM_OF_DBUV_OHM + decibels(load.value()))
}

/// Power in `load` at the voltage `reading` across it; the inverse of [`voltage`].
pub fn power(reading: DbMicrovolt, load: Ohms) -> Dbm {
    Dbm::new(reading.value() + DBM_OF_DBUV_OHM - decibels(load.value()))
}

/// Power density of a plane wave of the given field strength, S = E²/Z₀ ([`crate::sources::P525`]): dBµV/m − 145.76 is
/// dBW/m².
pub fn power_density(field: DbMicrovoltPerMetre) -> WattsPerSquareMetre {
    let squared = 10f64.powf((field.value() - 120.0) / 10.0);
    WattsPerSquareMetre::new(squared / FREE_SPACE_IMPEDANCE.value())
}

/// Field strength of a plane wave of the given power density; the inverse of [`power_density`].
pub fn field_of_density(density: WattsPerSquareMetre) -> DbMicrovoltPerMetre {
    DbMicrovoltPerMetre::new(decibels(density.value() * FREE_SPACE_IMPEDANCE.value()) + 120.0)
}

/// Effective area of an antenna of `gain` dBi, A = G λ²/4π ([`crate::sources::BALANIS2005`]). `frequency` must be
/// positive.
pub fn effective_aperture(gain: Db, frequency: Hertz) -> SquareMetres {
    SquareMetres::new(gain.to_ratio() * frequency.wavelength().value().powi(2) / (4.0 * PI))
}

/// Gain in dBi of an antenna of the given effective area; the inverse of [`effective_aperture`].
pub fn gain_of_aperture(area: SquareMetres, frequency: Hertz) -> Db {
    Db::of_ratio(4.0 * PI * area.value() / frequency.wavelength().value().powi(2))
}

/// Antenna factor of an antenna of `gain` dBi, matched to `load`: the voltage that the power S·A raises across the load,
/// against the field that carries S ([`crate::sources::P525`], [`crate::sources::BALANIS2005`]); at 50 Ω it is
/// 20 log10(9.73/λ) − G. `frequency` and `load` must be positive.
pub fn antenna_factor(gain: Db, frequency: Hertz, load: Ohms) -> DbPerMetre {
    DbPerMetre::new(isotropic_factor(frequency, load) - gain.value())
}

/// Gain in dBi of an antenna of the given factor, matched to `load`; the inverse of [`antenna_factor`].
pub fn gain_of_factor(factor: DbPerMetre, frequency: Hertz, load: Ohms) -> Db {
    Db::new(isotropic_factor(frequency, load) - factor.value())
}

/// Antenna factor of 0 dBi.
fn isotropic_factor(frequency: Hertz, load: Ohms) -> f64 {
    let area = effective_aperture(Db::new(0.0), frequency).value();
    decibels(FREE_SPACE_IMPEDANCE.value() / (load.value() * area))
}

/// Field strength at the antenna when the receiver at the end of a cable of `cable` dB loss reads `reading`:
/// dBµV/m = dBµV + antenna factor + loss (definition of the antenna factor). A preamplifier counts as a negative loss.
pub fn field_at_antenna(reading: DbMicrovolt, factor: DbPerMetre, cable: Db) -> DbMicrovoltPerMetre {
    DbMicrovoltPerMetre::new(reading.value() + factor.value() + cable.value())
}

/// Voltage at the receiver in a field of the given strength; the inverse of [`field_at_antenna`].
pub fn voltage_at_receiver(field: DbMicrovoltPerMetre, factor: DbPerMetre, cable: Db) -> DbMicrovolt {
    DbMicrovolt::new(field.value() - factor.value() - cable.value())
}

/// Power that an antenna of `gain` dBi, matched, takes from a field: S·A ([`crate::sources::BALANIS2005`]).
pub fn received_power(field: DbMicrovoltPerMetre, gain: Db, frequency: Hertz) -> Dbm {
    Dbm::of_power(Watts::new(power_density(field).value() * effective_aperture(gain, frequency).value()))
}

/// Field strength at `distance` from a radiator of `eirp` in free space, E = √(30 P)/d ([`crate::sources::P525`]).
/// Holds in the far field; `distance` must be positive.
pub fn free_space_field(eirp: Watts, distance: Metres) -> DbMicrovoltPerMetre {
    DbMicrovoltPerMetre::new(decibels(30.0 * eirp.value() / distance.value().powi(2)) + 120.0)
}

/// Basic transmission loss between isotropic antennas when a radiator of `eirp` makes `field`:
/// L = P − E + 20 log f + 167.22 with P in dBW and f in GHz ([`crate::sources::P525`]).
pub fn loss_of_field(eirp: Watts, field: DbMicrovoltPerMetre, frequency: Hertz) -> Db {
    Dbm::of_power(eirp) - received_power(field, Db::new(0.0), frequency)
}
