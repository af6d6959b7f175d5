//! Levels, fields, antennas, noise, mixtures, and what a level tells.

use azimark::{
    numeric::random::Random,
    radio::{
        Lobe, bearing_of_equal_information,
        convert::{
            FIFTY_OHMS, SEVENTY_FIVE_OHMS, antenna_factor, effective_aperture, field_at_antenna,
            field_of_density, free_space_field, gain_of_aperture, gain_of_factor, loss_of_field, power,
            power_density, received_power, voltage, voltage_at_receiver,
        },
        free_space_loss,
        noise::{Averaging, LOG_AVERAGE_DEFICIT, Rise, mean, noise_floor, power_sum},
        products, relative_range_error,
    },
    units::{
        Angle, Db, DbMicrovolt, DbMicrovoltPerMetre, DbPerMetre, Dbm, Hertz, Metres, Ohms, Sigma, Watts,
        WattsPerSquareMetre,
    },
};

use super::{ROUNDING, close};

#[test]
fn voltages_and_powers_agree_at_both_resistances() {
    // Computed with Python: 10 log10(R) + 90 for 0 dBm; the usual 107 and 108.75 from memory.
    close(voltage(Dbm::new(0.0), FIFTY_OHMS).value(), 106.989_700_043_360_19, ROUNDING);
    close(voltage(Dbm::new(0.0), SEVENTY_FIVE_OHMS).value(), 108.750_612_633_917, ROUNDING);
    for (level, ohms) in [(-121.3, 50.0), (0.0, 75.0), (33.0, 600.0)] {
        let there = voltage(Dbm::new(level), Ohms::new(ohms));
        close(power(there, Ohms::new(ohms)).value(), level, ROUNDING);
        // Ohm's and Joule's laws.
        let volts = 1e-6 * 10f64.powf(there.value() / 20.0);
        close(volts * volts / ohms / Dbm::new(level).to_watts().value(), 1.0, 1e-12);
    }
}

#[test]
fn field_strength_and_power_density_keep_the_printed_constants() {
    // Computed with Python for 120π Ω, after ITU-R P.525: S = E − 145.7633112 (145.8 there, from memory).
    let density = power_density(DbMicrovoltPerMetre::new(145.763_311_187_417_6));
    close(density.value(), 1.0, 1e-12);
    close(field_of_density(WattsPerSquareMetre::new(1.0)).value(), 145.763_311_2, 5e-8);
    // READ, 47 CFR 1.1310 Table 1: 61.4 V/m and 1.0 mW/cm² stand beside each other from 30 to 300 MHz. Tolerance: half a
    // unit of the last printed digit of the field.
    let printed = field_of_density(WattsPerSquareMetre::new(10.0)).value();
    close(10f64.powf((printed - 120.0) / 20.0), 61.4, 0.05);
    // Computed with Python, after P.525: E = 74.77121255 + P − 20 log d (dBW, km), 74.8 there from memory.
    close(free_space_field(Watts::new(1.0), Metres::km(1.0)).value(), 74.771_212_55, 5e-9);
    close(free_space_field(Watts::new(1000.0), Metres::km(1.0)).value(), 104.771_212_547_196_63, ROUNDING);
    // Computed, after P.525: L = P − E + 20 log f + 167.2189958 (GHz), 167.2 there from memory.
    let constant = loss_of_field(Watts::new(1.0), DbMicrovoltPerMetre::new(0.0), Hertz::mhz(1000.0));
    close(constant.value(), 167.218_995_8, 5e-8);
}

/// Three ways round the same free space (identities; no figure from outside).
#[test]
fn fields_losses_and_received_powers_close_their_circle() {
    for (mhz, metres, eirp, gain) in [(146.52, 1000.0, 50.0, 2.15), (2437.0, 37.0, 0.1, -3.0)] {
        let (f, d, p, g) = (Hertz::mhz(mhz), Metres::new(metres), Watts::new(eirp), Db::new(gain));
        let field = free_space_field(p, d);
        let loss = free_space_loss(f, d);
        close(loss_of_field(p, field, f).value(), loss.value(), ROUNDING);
        let received = received_power(field, g, f);
        close(received.value(), Dbm::of_power(p).value() - loss.value() + gain, ROUNDING);
        // The same by the antenna factor.
        let factor = antenna_factor(g, f, FIFTY_OHMS);
        let reading = voltage_at_receiver(field, factor, Db::new(0.0));
        close(power(reading, FIFTY_OHMS).value(), received.value(), ROUNDING);
    }
}

#[test]
fn antenna_factors_and_apertures_have_their_known_values() {
    // Computed with Python from λ²G/4π and 120π Ω.
    let isotropic = antenna_factor(Db::new(0.0), Hertz::mhz(146.52), FIFTY_OHMS);
    close(isotropic.value(), 13.547_233_925_569_955, ROUNDING);
    let dipole = antenna_factor(Db::new(2.15), Hertz::mhz(433.92), SEVENTY_FIVE_OHMS);
    close(dipole.value(), 19.066_576_492_182_01, ROUNDING);
    close(effective_aperture(Db::new(2.15), Hertz::mhz(146.52)).value(), 0.546_559_845_425_720_1, 1e-12);
    // From memory: antenna factor 9.73/(λ √G) at 50 Ω.
    let one_metre = Hertz::new(299_792_458.0);
    let factor = antenna_factor(Db::new(0.0), one_metre, FIFTY_OHMS);
    close(10f64.powf(factor.value() / 20.0), 9.73, 0.005);
    // There and back.
    let (f, g) = (Hertz::mhz(915.0), Db::new(7.5));
    close(gain_of_aperture(effective_aperture(g, f), f).value(), 7.5, ROUNDING);
    close(gain_of_factor(antenna_factor(g, f, FIFTY_OHMS), f, FIFTY_OHMS).value(), 7.5, ROUNDING);
    // Definition of the antenna factor: 30 dBµV behind 2 dB of cable at 13 dB/m is 45 dBµV/m.
    let field = field_at_antenna(DbMicrovolt::new(30.0), DbPerMetre::new(13.0), Db::new(2.0));
    close(field.value(), 45.0, 0.0);
    close(voltage_at_receiver(field, DbPerMetre::new(13.0), Db::new(2.0)).value(), 30.0, 0.0);
}

#[test]
fn the_noise_floor_is_minus_174_dbm_per_hertz() {
    // From memory, everywhere: −174 dBm/Hz.
    let one = noise_floor(Hertz::new(1.0), Db::new(0.0)).unwrap().value();
    close(one, -174.0, 0.5);
    // Computed with Python, k = 1.380649e-23, 290 K.
    close(one, -173.975_187_194_228_08, ROUNDING);
    let narrow = noise_floor(Hertz::new(12_500.0), Db::new(6.0)).unwrap();
    close(narrow.value(), -127.006_087_064_147_55, ROUNDING);
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(noise_floor(Hertz::new(wrong), Db::new(6.0)), None);
    }
}

#[test]
fn powers_are_added_in_watts() {
    // Two equal powers: 10 log10 2, by definition of the decibel.
    let pair = power_sum(&[Dbm::new(-100.0), Dbm::new(-100.0)]).unwrap();
    close(pair.value(), -100.0 + 3.010_299_956_639_812, ROUNDING);
    // 1 mW + 10 mW + 100 mW = 111 mW; log10 111 computed with Python.
    let three = power_sum(&[Dbm::new(0.0), Dbm::new(10.0), Dbm::new(20.0)]).unwrap();
    close(three.value(), 20.453_229_787_866_576, ROUNDING);
    let levels = [Dbm::new(0.0), Dbm::new(20.0)];
    close(mean(&levels, Averaging::Decibels).unwrap().value(), 10.0, ROUNDING);
    // (1 + 100)/2 = 50.5 mW; computed with Python.
    close(mean(&levels, Averaging::Power).unwrap().value(), 17.032_913_781_186_615, ROUNDING);
    assert_eq!(power_sum(&[]), None);
    assert_eq!(mean(&[], Averaging::Power), None);
    assert_eq!(mean(&[], Averaging::Decibels), None);
}

/// The deficit against noise made by chance: 10⁵ exponential powers, whose decibels scatter by 5.57 dB (π/√6 · 10/ln 10);
/// within five standard errors of both means.
#[test]
fn the_mean_of_decibels_of_noise_falls_short_by_2_51_db() {
    // Computed with Python: 10 γ/ln 10. The usual 2.51 dB of spectrum analysers from memory.
    close(LOG_AVERAGE_DEFICIT.value(), 2.506_815_781_348_522, ROUNDING);
    let mut random = Random::seeded(11);
    let n = 100_000;
    let levels: Vec<Dbm> = (0..n)
        .map(|_| Dbm::of_power(Watts::new(-(1.0 - random.uniform()).ln())))
        .filter(|l| l.value().is_finite())
        .collect();
    let short = mean(&levels, Averaging::Power).unwrap() - mean(&levels, Averaging::Decibels).unwrap();
    let error = (5.57f64.powi(2) + 4.343f64.powi(2)).sqrt() / f64::from(n).sqrt();
    close(short.value(), LOG_AVERAGE_DEFICIT.value(), 5.0 * error);
}

#[test]
fn a_rise_of_the_floor_tells_the_interference() {
    let rise = |share, averaging| Rise { floor: Dbm::new(-120.0), share, averaging };
    // An interferer as strong as the floor, always on: 10 log10 2 either way.
    for averaging in [Averaging::Power, Averaging::Decibels] {
        let found = rise(1.0, averaging).of(Dbm::new(-120.0)).unwrap();
        close(found.value(), 3.010_299_956_639_812, ROUNDING);
    }
    // On for a tenth of the time, 10 dB above the floor: 10 log10(1 + 0.1·10) and 0.1 · 10 log10 11, computed with Python.
    let power = rise(0.1, Averaging::Power).of(Dbm::new(-110.0)).unwrap();
    close(power.value(), 3.010_299_956_639_812, ROUNDING);
    let decibels = rise(0.1, Averaging::Decibels).of(Dbm::new(-110.0)).unwrap();
    close(decibels.value(), 1.041_392_685_158_225, ROUNDING);
    // Both against averages formed sample by sample: one in ten at floor + interferer.
    let mut samples = vec![Dbm::new(-120.0); 9];
    samples.push(power_sum(&[Dbm::new(-120.0), Dbm::new(-110.0)]).unwrap());
    for (averaging, expected) in [(Averaging::Power, power), (Averaging::Decibels, decibels)] {
        let found = mean(&samples, averaging).unwrap() - Dbm::new(-120.0);
        close(found.value(), expected.value(), ROUNDING);
    }
    // There and back, and nothing where there is no rise.
    for averaging in [Averaging::Power, Averaging::Decibels] {
        let r = rise(0.3, averaging);
        close(r.interference(r.of(Dbm::new(-133.0)).unwrap()).unwrap().value(), -133.0, 1e-9);
        assert_eq!(r.interference(Db::new(0.0)), None);
        assert_eq!(r.interference(Db::new(f64::NAN)), None);
        assert_eq!(rise(0.0, averaging).of(Dbm::new(-110.0)), None);
        assert_eq!(rise(1.1, averaging).of(Dbm::new(-110.0)), None);
    }
}

#[test]
fn mixtures_fall_where_arithmetic_puts_them() {
    let carriers = [Hertz::mhz(146.52), Hertz::mhz(146.94)];
    // 2·146.52 − 146.94 = 146.10; 3·146.52 − 2·146.94 = 145.68 lies 420 kHz below.
    let near = products(&carriers, Hertz::mhz(146.11), Hertz::mhz(0.45));
    let told: Vec<String> = near.iter().map(ToString::to_string).collect();
    assert_eq!(told, ["2 f1 − f2", "3 f1 − 2 f2"]);
    assert_eq!((near[0].order, near[1].order), (3, 5));
    // Differences of numbers of 1e8 Hz: a few units of 1.5e-8 Hz.
    close(near[0].frequency.to_mhz(), 146.10, 1e-12);
    close(near[0].offset.value(), -10_000.0, 1e-6);
    close(near[1].offset.value(), -430_000.0, 1e-6);
    let three = [Hertz::mhz(450.0), Hertz::mhz(451.0), Hertz::mhz(453.5)];
    let mixed = products(&three, Hertz::mhz(447.5), Hertz::new(1.0));
    assert_eq!(mixed[0].to_string(), "f1 + f2 − f3");
    assert_eq!(mixed[0].factors, [1, 1, -1]);
}

/// Integer points with Σ|k| = n: 4n on the plane, 4n² + 2 in space (from memory; counted again in Python); without those
/// on an axis, and one of each pair ±k.
#[test]
fn no_mixture_is_left_out_or_told_twice() {
    let everywhere = Hertz::new(f64::MAX);
    let count = |carriers: &[Hertz]| {
        let found = products(carriers, Hertz::new(0.0), everywhere);
        (2..=5).map(|n| found.iter().filter(|p| p.order == n).count()).collect::<Vec<_>>()
    };
    let plane = [Hertz::mhz(146.52), Hertz::mhz(157.94)];
    let space = [Hertz::mhz(146.52), Hertz::mhz(157.94), Hertz::mhz(463.031)];
    assert_eq!(count(&plane), [2, 4, 6, 8]);
    assert_eq!(count(&space), [6, 16, 30, 48]);
    assert_eq!(count(&plane[..1]), [0; 4]);
    // A carrier that is no number takes no part, and spoils nothing.
    assert_eq!(count(&[plane[0], Hertz::new(f64::NAN), plane[1]]), [2, 4, 6, 8]);
}

#[test]
fn the_lobe_is_3_db_down_at_half_its_beamwidth() {
    // READ in the sources of ns-3's antenna model after 3GPP TR 38.901: 65°, 30 dB.
    let lobe = Lobe::new(Angle::degrees(65.0), Db::new(30.0)).unwrap();
    // Half power, by definition of the beamwidth; the report rounds 3.0103 to 3.
    close(lobe.attenuation(Angle::degrees(32.5)).value(), 3.0, ROUNDING);
    close(lobe.attenuation(Angle::degrees(-32.5)).value(), 3.0, ROUNDING);
    close(lobe.attenuation(Angle::degrees(360.0 + 65.0)).value(), 12.0, ROUNDING);
    close(lobe.attenuation(Angle::degrees(180.0)).value(), 30.0, 0.0);
    // 65 √(30/12)°, computed with Python.
    close(lobe.edge().to_degrees(), 102.774_023_955_472_33, ROUNDING);
    assert_eq!(Lobe::new(Angle::ZERO, Db::new(30.0)), None);
    assert_eq!(Lobe::new(Angle::degrees(65.0), Db::new(0.0)), None);
    assert_eq!(Lobe::new(Angle::degrees(f64::NAN), Db::new(30.0)), None);
    assert_eq!(Lobe::new(Angle::degrees(361.0), Db::new(30.0)), None);
}

/// Against a central difference, exact for a parabola but for rounding: 30 dB · 2e-16 / 1e-4.
#[test]
fn the_slope_of_the_lobe_is_its_derivative() {
    let lobe = Lobe::new(Angle::degrees(40.0), Db::new(18.0)).unwrap();
    for degrees in [-170.0, -48.0, -20.0, 0.0, 3.0, 45.0, 52.0, 340.0] {
        let at = |by: f64| lobe.attenuation(Angle::radians(f64::to_radians(degrees) + by)).value();
        close(lobe.slope(Angle::degrees(degrees)), (at(1e-4) - at(-1e-4)) / 2e-4, 1e-9);
    }
}

#[test]
fn a_level_tells_as_much_along_the_line_as_a_bearing_across_it() {
    // Computed in Python (σ ln 10/(10 n), degrees).
    for (db, n, degrees) in
        [(6.0, 3.5, 22.616_298), (4.0, 3.2, 16.491_051), (8.0, 4.0, 26.385_682), (3.0, 2.0, 19.789_261)]
    {
        let sigma = bearing_of_equal_information(Sigma::db(db).unwrap(), n).unwrap();
        close(sigma.to_degrees(), degrees, 5e-7);
        // The derivatives themselves, by differences along and across: the same shift moves both by as many sigmas.
        let (range, step) = (730f64, 1e-3f64);
        let along = 10.0 * n * ((range + step) / (range - step)).log10() / db;
        let across = 2.0 * (step / range).atan() / sigma.to_radians();
        close(along / across, 1.0, 1e-10);
    }
    assert_eq!(relative_range_error(Sigma::db(6.0).unwrap(), 0.0), None);
    assert_eq!(relative_range_error(Sigma::db(6.0).unwrap(), f64::NAN), None);
}

/// Patwari et al. 2003: one unknown at the centre of a square of four references of side L. Computed in Python for
/// σ/n = 1.7 dB: b = 2.554673423, σ₁ = 0.2767895007 L (0.27 L in the paper, from memory).
#[test]
fn the_bound_in_the_middle_of_a_square_is_0_27_of_its_side() {
    let error = relative_range_error(Sigma::db(1.7 * 2.3).unwrap(), 2.3).unwrap();
    close(1.0 / error, 2.554_673_423, 5e-10);
    // Information of four readings along x and along y, d = L/√2: Σ (u/(error d))².
    let d = 0.5f64.sqrt();
    let axis: f64 =
        [45.0, 135.0, 225.0, 315.0].map(|a: f64| (a.to_radians().cos() / (error * d)).powi(2)).iter().sum();
    close((2.0 / axis).sqrt(), 0.276_789_500_7, 5e-11);
}
