//! Losses of 3GPP TR 38.901, Table 7.4.1-1 ([`crate::sources::TR38901`]): frequencies in GHz, distances in metres.

use std::f64::consts::{LN_10, PI};

use crate::{
    radio::{
        link::{Line, Link},
        validity::{Along, Span, Validity},
    },
    units::{Db, Metres, Sigma},
};

/// The speed of light with which the report computes its breakpoints.
const LIGHT: f64 = 3.0e8;

/// Height h_E of the surroundings that the breakpoints of streets and towns are seen from. For a lower antenna above 13 m
/// in a town the report draws it by lot; that is not modelled, and the validity says so.
const SURROUNDINGS: f64 = 1.0;

/// Where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scenario {
    /// Street canyon, upper antenna below the roofs (UMi).
    StreetCanyon,
    /// Town, upper antenna above the roofs (UMa).
    UrbanMacro,
    /// Country and villages (RMa).
    RuralMacro(Village),
    /// Office (InH).
    IndoorOffice,
}

/// Whether the antennas see each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sight {
    /// They do.
    Clear,
    /// They do not.
    Blocked,
}

/// Averages of the built-up ground in [`Scenario::RuralMacro`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Village {
    buildings: f64,
    street: f64,
}

impl Default for Village {
    /// Buildings of 5 m, streets of 20 m: the report's own defaults.
    fn default() -> Self {
        Self { buildings: 5.0, street: 20.0 }
    }
}

impl Village {
    /// From the average height of buildings and the average width of streets; `None` unless both lie in 5 to 50 m.
    pub fn new(buildings: Metres, street: Metres) -> Option<Self> {
        let span = Span::new(5.0, 50.0);
        let (buildings, street) = (buildings.value(), street.value());
        (span.holds(buildings) && span.holds(street)).then_some(Self { buildings, street })
    }
}

struct Figures {
    ghz: f64,
    slant: f64,
    decades: f64,
}

impl Figures {
    fn of(link: &Link) -> Self {
        let slant = link.slant().value();
        Self { ghz: link.frequency.value() / 1e9, slant, decades: slant.log10() }
    }

    fn tone(&self, rate: f64) -> f64 {
        rate * self.ghz.log10()
    }
}

/// A loss of `constant` + `rate` log d + `tone` log f.
fn plain(link: &Link, constant: f64, rate: f64, tone: f64) -> Line {
    let at = Figures::of(link);
    Line::of_slant(constant + rate * at.decades + at.tone(tone), rate, link)
}

/// Distance from which the ray off the ground takes over, 4 h₁ h₂ f/c with the heights above the surroundings (note 1).
fn street_breakpoint(link: &Link) -> f64 {
    let above = |h: Metres| (h.value() - SURROUNDINGS).max(0.0);
    4.0 * above(link.upper) * above(link.lower) * link.frequency.value() / LIGHT
}

/// Two slopes that meet at the breakpoint: `rate` before it, 40 dB per decade beyond.
fn two_slopes(link: &Link, constant: f64, rate: f64) -> Line {
    let edge = street_breakpoint(link);
    if link.distance.value() < edge {
        return plain(link, constant, rate, 20.0);
    }
    let fall = edge.hypot(link.upper.value() - link.lower.value()).log10();
    plain(link, constant - (40.0 - rate) * fall, 40.0, 20.0)
}

/// 2π h₁ h₂ f/c (note 5).
fn rural_breakpoint(link: &Link) -> f64 {
    2.0 * PI * link.upper.value() * link.lower.value() * link.frequency.value() / LIGHT
}

fn rural_clear(link: &Link, village: Village) -> Line {
    let Figures { ghz, slant, .. } = Figures::of(link);
    let h = village.buildings;
    let rate = 20.0 + (0.03 * h.powf(1.72)).min(10.0);
    let per_metre = 0.002 * h.log10();
    let near = |d: f64| {
        20.0 * (40.0 * PI * ghz / 3.0).log10() + rate * d.log10() - (0.044 * h.powf(1.72)).min(14.77)
            + per_metre * d
    };
    let edge = rural_breakpoint(link);
    if link.distance.value() < edge {
        Line::of_slant(near(slant), rate + per_metre * slant * LN_10, link)
    } else {
        // The report puts the ground distance into the first term and the slant one into the second: a step of less than a
        // tenth of a decibel at the breakpoint.
        Line::of_slant(near(edge) + 40.0 * (slant / edge).log10(), 40.0, link)
    }
}

fn rural_blocked(link: &Link, village: Village) -> Line {
    let at = Figures::of(link);
    let (upper, h) = (link.upper.value(), village.buildings);
    let rate = 43.42 - 3.1 * upper.log10();
    let db = 161.04 - 7.1 * village.street.log10() + 7.5 * h.log10()
        - (24.37 - 3.7 * (h / upper).powi(2)) * upper.log10()
        + rate * (at.decades - 3.0)
        + at.tone(20.0)
        - (3.2 * (11.75 * link.lower.value()).log10().powi(2) - 4.97);
    Line::of_slant(db, rate, link)
}

fn clear(link: &Link, scenario: Scenario) -> Line {
    match scenario {
        Scenario::StreetCanyon => two_slopes(link, 32.4, 21.0),
        Scenario::UrbanMacro => two_slopes(link, 28.0, 22.0),
        Scenario::RuralMacro(village) => rural_clear(link, village),
        Scenario::IndoorOffice => plain(link, 32.4, 17.3, 20.0),
    }
}

fn blocked(link: &Link, scenario: Scenario) -> Line {
    let lower = link.lower.value();
    match scenario {
        Scenario::StreetCanyon => plain(link, 22.4 - 0.3 * (lower - 1.5), 35.3, 21.3),
        Scenario::UrbanMacro => plain(link, 13.54 - 0.6 * (lower - 1.5), 39.08, 20.0),
        Scenario::RuralMacro(village) => rural_blocked(link, village),
        Scenario::IndoorOffice => plain(link, 17.3, 38.3, 24.9),
    }
}

/// The report's loss; without sight never less than with it.
pub(super) fn line(link: &Link, scenario: Scenario, sight: Sight) -> Line {
    match sight {
        Sight::Clear => clear(link, scenario),
        Sight::Blocked => clear(link, scenario).or_more(blocked(link, scenario)),
    }
}

/// The report's limits. Streets and towns have one height of the upper antenna each, 10 m and 25 m, and no others.
pub(super) fn validity(scenario: Scenario, sight: Sight) -> Validity {
    let ground = |to: f64, upper: Span, lower: Span| Validity {
        frequency: Span::new(0.5e9, 100e9),
        distance: Span::new(10.0, to),
        along: Along::Ground,
        upper,
        lower,
    };
    match scenario {
        Scenario::StreetCanyon => ground(5e3, Span::new(10.0, 10.0), Span::new(1.5, 22.5)),
        Scenario::UrbanMacro => ground(5e3, Span::new(25.0, 25.0), Span::new(1.5, 13.0)),
        Scenario::RuralMacro(_) => {
            let farthest = if sight == Sight::Clear { 10e3 } else { 5e3 };
            let heights = ground(farthest, Span::new(10.0, 150.0), Span::new(1.0, 10.0));
            Validity { frequency: Span::new(0.5e9, 30e9), ..heights }
        }
        Scenario::IndoorOffice => {
            let anywhere = ground(f64::INFINITY, Span::ANY, Span::ANY);
            Validity { distance: Span::new(1.0, 150.0), along: Along::Slant, ..anywhere }
        }
    }
}

/// Standard deviation of shadowing about the loss.
pub(super) fn shadowing(link: &Link, scenario: Scenario, sight: Sight) -> Option<Sigma<Db>> {
    Sigma::db(match (scenario, sight) {
        (Scenario::StreetCanyon | Scenario::UrbanMacro, Sight::Clear) => 4.0,
        (Scenario::RuralMacro(_), Sight::Clear) => {
            if link.distance.value() < rural_breakpoint(link) {
                4.0
            } else {
                6.0
            }
        }
        (Scenario::IndoorOffice, Sight::Clear) => 3.0,
        (Scenario::StreetCanyon, Sight::Blocked) => 7.82,
        (Scenario::UrbanMacro, Sight::Blocked) => 6.0,
        (Scenario::RuralMacro(_), Sight::Blocked) => 8.0,
        (Scenario::IndoorOffice, Sight::Blocked) => 8.03,
    })
}
