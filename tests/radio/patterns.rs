//! Families of antenna patterns against the figures of standards and textbooks, and their slopes against differences.

use azimark::{
    numeric::derivative::slope,
    radio::{Family, Pattern},
    units::{Angle, Db},
};

use super::{ROUNDING, close};

fn pattern(family: Family, beamwidth: f64, depth: f64) -> Pattern {
    Pattern::new(family, Angle::degrees(beamwidth), Db::new(depth)).unwrap()
}

fn down(pattern: &Pattern, off: f64) -> f64 {
    pattern.attenuation(Angle::degrees(off)).value()
}

/// 3GPP TR 38.901, Table 7.3-1, horizontal cut: −min(12 (φ/65°)², 30 dB). ITU-R F.1336 has the same parabola for sectoral
/// antennas within the half-power width. From memory.
#[test]
fn a_lobe_is_the_parabola_of_the_standards() {
    let lobe = pattern(Family::Lobe, 65.0, 30.0);
    for (off, expected) in
        [(0.0, 0.0), (32.5, 3.0), (65.0, 12.0), (-65.0, 12.0), (110.0, 30.0), (180.0, 30.0)]
    {
        close(down(&lobe, off), expected, ROUNDING);
    }
    close(lobe.half_power_width().to_degrees(), 65.0, 1e-9);
}

/// The pure cardioid, 1 + cos θ: 6.02 dB down at the sides, half power at ±65.53°, a null at the back (any textbook of
/// antennas or microphones; 2 arccos(√2 − 1) = 131.06°, computed with Python).
#[test]
fn a_deep_cardioid_is_that_of_the_textbooks() {
    let cardioid = pattern(Family::Cardioid, 60.0, 70.0);
    close(down(&cardioid, 0.0), 0.0, ROUNDING);
    // A back 70 dB down instead of nothing at all changes the sides by 0.003 dB and the width by 0.02°.
    close(down(&cardioid, 90.0), 6.020_6, 4e-3);
    close(down(&cardioid, 180.0), 70.0, 1e-9);
    close(cardioid.half_power_width().to_degrees(), 131.06, 0.03);
    // With a back 10 dB down the null is filled: voltages 1 to 10^(−1/2).
    close(down(&pattern(Family::Cardioid, 60.0, 10.0), 180.0), 10.0, 1e-9);
}

/// A small loop or dipole, cos² θ: half power at ±45° and a quarter at ±60° (Balanis, §§ 4.2 and 5.2).
#[test]
fn a_figure_of_eight_is_the_cosine_squared() {
    let eight = pattern(Family::FigureOfEight, 60.0, 60.0);
    close(down(&eight, 45.0), 3.010_3, 1e-4);
    close(down(&eight, 60.0), 6.020_6, 1e-4);
    close(down(&eight, 180.0), 0.0, ROUNDING);
    close(down(&eight, 270.0), 60.0, 1e-9);
    close(eight.half_power_width().to_degrees(), 90.0, 1e-3);
    assert_eq!(eight.nulls(), [0.5 * std::f64::consts::PI, 1.5 * std::f64::consts::PI]);
    assert!(Family::FigureOfEight.two_way() && !Family::Cardioid.two_way());
}

/// A body of 12 dB takes away half of them, in decibels, at the sides; one of 2 dB has no half-power width.
#[test]
fn a_bodys_shadow_is_a_cosine_in_decibels() {
    let body = pattern(Family::Body, 60.0, 12.0);
    close(down(&body, 90.0), 6.0, ROUNDING);
    close(down(&body, 180.0), 12.0, ROUNDING);
    // 12 (1 − cos θ)/2 = 3.0103 dB at θ = 60.11°.
    close(body.half_power_width().to_degrees(), 120.23, 0.01);
    close(pattern(Family::Body, 60.0, 2.0).half_power_width().to_degrees(), 360.0, 0.0);
}

/// Ridders' extrapolated differences tell their own error; away from the corner of the lobe each derivative agrees.
#[test]
fn slopes_are_derivatives() {
    for family in Family::ALL {
        for off in [-170.0f64, -100.0, -35.0, -1.0, 12.0, 44.0, 91.0, 150.0] {
            let by_angle = |x: f64| pattern(family, 70.0, 18.0).attenuation(Angle::radians(x)).value();
            let by_width = |x: f64| down(&pattern(family, x.exp(), 18.0), off);
            let by_depth = |x: f64| down(&pattern(family, 70.0, x), off);
            let here = pattern(family, 70.0, 18.0);
            let at = Angle::degrees(off);
            for (name, found, (expected, error)) in [
                ("angle", here.slope(at), slope(by_angle, off.to_radians(), 0.02)),
                ("width", here.by_log_beamwidth(at), slope(by_width, 70f64.ln(), 0.01)),
                ("depth", here.by_depth(at), slope(by_depth, 18.0, 0.1)),
            ] {
                let near = (found - expected).abs() <= 1e-7 + 10.0 * error;
                assert!(near, "{family:?} by {name} at {off}: {found} {expected}");
            }
        }
    }
}

#[test]
fn a_pattern_without_a_beam_or_depth_is_none() {
    for (beamwidth, depth) in
        [(0.0, 10.0), (361.0, 10.0), (f64::NAN, 10.0), (60.0, 0.0), (60.0, f64::INFINITY)]
    {
        assert_eq!(Pattern::new(Family::Lobe, Angle::degrees(beamwidth), Db::new(depth)), None);
    }
}
