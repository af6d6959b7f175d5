//! What would change the answer: the same observations with something else taken for granted.

use crate::{
    geodesy::course,
    solve::{
        fit::{Fit, solved},
        scene::Scene,
    },
    units::{Angle, Metres},
};

/// How the quoted place moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// How far.
    pub distance: Metres,
    /// In which direction, from true north.
    pub toward: Angle,
}

/// Other answers to the same observations.
#[derive(Clone, Debug)]
pub struct Overturn {
    /// Where the place would be if every compass read too little by [`TURN_DEGREES`], and too much by as many.
    pub turned: [Move; 2],
    /// The fit if every bearing's error were twice the one it has.
    pub doubled: Fit,
}

/// An error of a compass that happens beside a vehicle, degrees. Common practice, no source.
pub const TURN_DEGREES: f64 = 5.0;

/// Solves again with all bearings turned and with their errors doubled; `None` without bearings.
pub fn overturn(fit: &Fit) -> Option<Overturn> {
    if fit.scene.sights.is_empty() {
        return None;
    }
    let moved = |by: Angle| {
        let way = course(fit.quoted(), solved(turned(&fit.scene, by), &fit.options).quoted());
        Move { distance: way.distance, toward: way.departure }
    };
    Some(Overturn {
        turned: [1.0, -1.0].map(|side| moved(Angle::degrees(side * TURN_DEGREES))),
        doubled: solved(doubled(&fit.scene), &fit.options),
    })
}

/// Every bearing turned clockwise.
fn turned(scene: &Scene, by: Angle) -> Scene {
    let mut out = scene.clone();
    let (s, c) = by.to_radians().sin_cos();
    for sight in &mut out.sights {
        sight.azimuth += by.to_radians();
        (sight.sin, sight.cos) = (sight.sin * c + sight.cos * s, sight.cos * c - sight.sin * s);
    }
    out
}

/// Every error of a reading doubled; those of positions stay.
fn doubled(scene: &Scene) -> Scene {
    let mut out = scene.clone();
    out.sights.iter_mut().for_each(|s| s.sigma *= 2.0);
    out
}
