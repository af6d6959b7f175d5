//! The whole answer to a file of bearings.

use crate::{
    check::{Heard, Prepared},
    finding::{Finding, Severity},
    geodesy::{Place, course},
    north::{TrueBearing, TrueSector},
    observe::{NorthReference, Swing},
    region::{Ellipse, NotDetermined, Region, Scale},
    report::{drift, reflections::Reflections, two, two::TwoPlaces, words},
    safety::Caution,
    solve::{
        Crossing, Drift, Fit, Judgement, Kind, Kinds, Loss, Mode, NorthHypothesis, Record, Spot, contradict,
        crossings, levels::LevelFit, spots, swing::SwingFit,
    },
    units::{Angle, Confidence, Dbm, Metres, SquareMetres},
};

/// Everything there is to tell.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The fit.
    pub fit: Fit,
    /// The bearings that went into it.
    pub bearings: Vec<TrueBearing>,
    /// The record of each.
    pub record: Record,
    /// Regions of 50, 90 and 95 %.
    pub regions: Vec<Result<Region, NotDetermined>>,
    /// One-sigma ellipse of the first mode, where it has one.
    pub ellipse: Option<Ellipse>,
    /// How the ellipse is widened.
    pub scale: Scale,
    /// The levels that went into it, and what was left out.
    pub levels: Prepared,
    /// Antennas turned on the spot, with their fits; those with a direction are among the bearings.
    pub turned: Vec<(Swing, SwingFit)>,
    /// The sectors that went into it.
    pub sectors: Vec<TrueSector>,
    /// The law of distance that the levels follow.
    pub law: Option<LevelFit>,
    /// What each kind of evidence says without the others, where there are several.
    pub alone: Vec<Alone>,
    /// Probability that kinds which mean one place differ as much as these.
    pub kinds_p: Option<f64>,
    /// Two places, where they explain the bearings clearly better than one.
    pub two: Option<TwoPlaces>,
    /// An emitter that moves, where it explains the bearings clearly better than one that stands still.
    pub drift: Option<Drift>,
    /// Stands with several bearings, against the place that the others give.
    pub spots: Vec<Spot>,
    /// Where bearings of one minute meet.
    pub crossings: Vec<Crossing>,
    /// What the façades of a map say of bearings that disagree, where a map was given ([`Answer::tried_on`]).
    pub reflections: Option<Reflections>,
    /// Other treatments of north, tried; most favoured first.
    pub audit: Vec<NorthHypothesis>,
    /// Findings of reading, checking and bringing to true north.
    pub findings: Vec<Finding>,
    /// Cautions that the notes set off.
    pub cautions: Vec<Caution>,
    /// Whether the checks are still to come: other treatments of north, each kind alone, two places, a drift, and how far the place
    /// moves without each bearing.
    pub unchecked: bool,
}

/// What one kind of evidence says without the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alone {
    /// Which.
    pub kind: Kind,
    /// Where it points.
    pub place: Place,
    /// Radius of a circle of the same area as its 95 % region, or a kilometre where it has none.
    pub radius: Metres,
    /// Area of its 95 % region, where the data determine one.
    pub area: Option<SquareMetres>,
    /// Distance from the place of all kinds together.
    pub apart: Metres,
    /// Direction from there, from true north.
    pub toward: Angle,
}

impl Alone {
    fn of((kind, fit): &(Kind, Fit), from: Place) -> Self {
        let area = Region::of(fit, Confidence::P95).ok().map(|r| r.area());
        let radius = area.map_or(1_000.0, |a| (a.value() / std::f64::consts::PI).sqrt());
        let way = course(from, fit.quoted());
        Self {
            kind: *kind,
            place: fit.quoted(),
            radius: Metres::new(radius),
            area,
            apart: way.distance,
            toward: way.departure,
        }
    }
}

/// One level against its distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Against {
    /// Its place.
    pub at: Place,
    /// The level, or the level that it is below.
    pub level: Dbm,
    /// Whether it is below.
    pub below: bool,
    /// Distance from the quoted place.
    pub distance: Metres,
    /// What the law of distance gives there.
    pub expected: Option<Dbm>,
}

/// What goes into an answer beside the fit.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    /// The bearings that went into the fit, in its order.
    pub bearings: Vec<TrueBearing>,
    /// The levels that went into the fit, in its order.
    pub levels: Prepared,
    /// Antennas turned on the spot, with their fits.
    pub turned: Vec<(Swing, SwingFit)>,
    /// The sectors that went into the fit.
    pub sectors: Vec<TrueSector>,
    /// Each kind alone.
    pub kinds: Kinds,
    /// Two places, where they explain the bearings clearly better than one.
    pub two: Option<TwoPlaces>,
    /// An emitter that moves, where it explains the bearings clearly better than one that stands still.
    pub drift: Option<Drift>,
    /// Other treatments of north, tried.
    pub audit: Vec<NorthHypothesis>,
    /// Findings of reading, checking and bringing to true north.
    pub findings: Vec<Finding>,
    /// Cautions that the notes set off.
    pub cautions: Vec<Caution>,
    /// Whether the checks are still to come.
    pub unchecked: bool,
}

/// Gathers regions, ellipse and record of a fit.
pub fn answer(fit: Fit, notes: Notes) -> Answer {
    let Notes { bearings, levels, turned, sectors, kinds, two, drift, audit, findings, cautions, unchecked } =
        notes;
    let law = fit.law();
    let alone = kinds.alone.iter().map(|k| Alone::of(k, fit.quoted())).collect();
    let kinds_p = kinds.p;
    let record = if unchecked { fit.first_record(&bearings) } else { fit.record(&bearings) };
    let (spots, crossings) =
        if unchecked { Default::default() } else { (spots(&fit), crossings(&fit, &bearings)) };
    let regions = Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95]);
    let ellipse = fit.modes().first().and_then(|m| m.covariance).and_then(Ellipse::one_sigma);
    let scale = match record.agreement.judgement {
        Judgement::Unstated if record.agreement.freedom > 0 => {
            Scale::Estimated { freedom: f64::from(record.agreement.freedom) }
        }
        _ => Scale::Known,
    };
    Answer {
        fit,
        bearings,
        record,
        regions,
        ellipse,
        scale,
        levels,
        turned,
        sectors,
        law,
        alone,
        kinds_p,
        two,
        drift,
        spots,
        crossings,
        reflections: None,
        audit,
        findings,
        cautions,
        unchecked,
    }
}

/// One place is quoted when its share of the probability is above this.
const ONE_STORY: f64 = 0.9;

impl Answer {
    /// Whether a 95 % region was found and no row was refused.
    pub fn complete(&self) -> bool {
        self.region95().is_ok() && self.findings.iter().all(|f| f.severity != Severity::Refused)
    }

    /// The 95 % region.
    pub fn region95(&self) -> &Result<Region, NotDetermined> {
        &self.regions[2]
    }

    /// Whether one place holds so much of the probability that it may be quoted alone.
    pub fn one_story(&self) -> bool {
        self.fit.modes().first().is_some_and(|m| m.share > ONE_STORY)
    }

    /// Whether the customary ellipse of the first place says about the same as the 95 % region: half to twice its area.
    pub fn ellipse_fits(&self) -> bool {
        let wide = self.ellipse.map(|e| e.widened(Confidence::P95, self.scale).area().value());
        let region = self.region95().as_ref().map(|r| r.area().value());
        wide.zip(region.ok()).is_some_and(|(e, r)| (0.5..2.0).contains(&(r / e)))
    }

    /// The uncertainty that sets how many digits a place prints.
    pub fn deserved(&self) -> Metres {
        self.ellipse.map_or(Metres::new(1000.0), |e| e.semi_major)
    }

    /// The answer in a few sentences: where to search, what else may be the case, and how much of the notes it rests on.
    pub fn summary(&self) -> String {
        let mut out = match (self.fit.modes().first(), self.region95()) {
            (Some(mode), Ok(region)) => self.area_to_search(mode, region),
            (None, Ok(_)) => "These data do not determine a place.".to_owned(),
            (_, Err(open)) => self.open(open),
        };
        if self.doubtful() {
            out += " DOUBTFUL: ";
            out += match self.audit.iter().any(NorthHypothesis::favoured) {
                _ if self.conflict() => "what was seen does not agree on one place; see each kind alone.",
                true => "the bearings fit much better with another north; see the audit of north.",
                false => "the declination stated is not that of the place; see what is doubtful.",
            };
        }
        if !self.doubtful() && self.north_untold().next().is_some() {
            out += " North cannot be checked from these bearings: see the audit of north.";
        }
        if self.unchecked {
            out += " Not checked yet: whether north is right, and whether the observations agree on one place that stays.";
        }
        out += &self.two.as_ref().map_or(String::new(), two::sentence);
        out += &self.drift.as_ref().map_or(String::new(), drift::sentence);
        let refused = self.rows_refused();
        if refused > 0 {
            let rows = words::count(refused, "row was", "rows were");
            out += &format!(" It rests on {}; {rows} refused.", self.rests_on());
        }
        out
    }

    /// Treatments of north that the bearings cannot tell from the one stated, and that would move the place by more than its
    /// own uncertainty.
    pub fn north_untold(&self) -> impl Iterator<Item = &NorthHypothesis> {
        let far = self.deserved().value();
        self.audit
            .iter()
            .filter(move |h| h.open() && h.team.is_none() && h.shift.is_some_and(|m| m.value() > far))
    }

    /// What the answer rests on, counted.
    fn rests_on(&self) -> String {
        let counts = [
            (self.bearings.len(), "bearing", "bearings"),
            (self.levels.levels.len(), "level", "levels"),
            (self.sectors.len(), "sector", "sectors"),
        ];
        let told = counts.iter().filter(|c| c.0 > 0).map(|c| words::count(c.0, c.1, c.2));
        told.collect::<Vec<_>>().join(", ")
    }

    /// Whether kinds of evidence contradict each other: less than one in a hundred that mean one place differ as much.
    pub fn conflict(&self) -> bool {
        contradict(self.kinds_p)
    }

    /// Every level that was used against its distance from the quoted place.
    pub fn against(&self) -> Vec<Against> {
        let place = self.fit.quoted();
        let of = |l: &crate::check::UsableLevel| {
            let (level, below) = match l.heard {
                Heard::Signal { level, .. } => (level, false),
                Heard::Below(limit) => (limit, true),
            };
            let distance = course(place, l.at).distance;
            let expected = self.law.map(|law| law.at(distance));
            Against { at: l.at, level, below, distance, expected }
        };
        self.levels.levels.iter().map(of).collect()
    }

    /// Least and greatest distance of a level that was heard, metres.
    pub fn distances(&self) -> Option<(f64, f64)> {
        let heard: Vec<f64> =
            self.against().iter().filter(|a| !a.below).map(|a| a.distance.value()).collect();
        let least = heard.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = heard.iter().copied().fold(0.0, f64::max);
        (!heard.is_empty()).then_some((least, greatest))
    }

    /// Whether something speaks strongly against the answer as a whole.
    pub fn doubtful(&self) -> bool {
        self.audit.iter().any(NorthHypothesis::favoured)
            || self.findings.iter().any(|f| f.code == "declination-strange")
            || self.conflict()
    }

    /// How many rows of the notes were refused.
    pub fn rows_refused(&self) -> usize {
        let refused = self.findings.iter().filter(|f| f.severity == Severity::Refused);
        let mut rows: Vec<(&str, u64)> = refused
            .filter_map(|f| f.origin.as_ref())
            .map(|o| (o.file.as_str(), o.line.unwrap_or(0)))
            .collect();
        rows.sort_unstable();
        rows.dedup();
        rows.len()
    }

    fn area_to_search(&self, mode: &Mode, region: &Region) -> String {
        let (parts, area) = (region.parts().len(), words::area(region.area()));
        let place = if self.one_story() { self.fit.quoted() } else { mode.place };
        let at = words::place(place, self.deserved());
        let first = match (self.one_story(), parts) {
            (true, 1) => format!("Search {area} around {at}."),
            (true, n) => format!("Search {area} in {n} parts around {at}."),
            (false, 1) => format!("Search {area}, one area with several likely places, the first near {at}."),
            (false, n) => format!("Search {area} in {n} parts: more than one place fits."),
        };
        format!("{first} That area holds the emitter 95 times in 100, if what is assumed below is right.")
    }

    fn open(&self, open: &NotDetermined) -> String {
        if self.findings.iter().any(|f| f.code == "lines-do-not-meet") {
            return "These data do not determine a place: no two lines meet ahead of their stands. One was probably read \
                    backwards, or north is wrong; check them, or take another from the side."
                .to_owned();
        }
        let toward = words::bearing(open.along, NorthReference::True);
        let closes = match self.bearings.is_empty() {
            false => format!(
                "A bearing from the side closes it: stand well off the line toward {toward} and take another."
            ),
            true => {
                format!("Readings over there close it: walk toward {toward} as far as the signal is heard.")
            }
        };
        format!("T{}. {closes}", &open.to_string()[1..])
    }

    /// What the answer rests on beside the notes: the solver's priors, then what reading them took for granted.
    pub fn assumptions(&self) -> Vec<String> {
        let o = self.fit.options();
        let within = self.fit.within().value() / 1e3;
        let half = words::distance(self.fit.prior_half());
        let mut out = vec![format!(
            "before any observation: anywhere within {within:.0} km of the stands, as likely within {half} as beyond"
        )];
        if let Some(law) = self.law {
            out.extend(level_priors(o, &law));
        }
        if !self.sectors.is_empty() {
            out.push(format!("sectors: {}", o.sectors));
        }
        if self.bearings.is_empty() {
            let told = self.findings.iter().filter(|f| f.severity == Severity::Assumed);
            out.extend(told.map(ToString::to_string));
            return out;
        }
        if o.loss == Loss::Mixture {
            out.push(format!(
                "foreign bearings (reflections, other emitters): {:.0} % on average; reversed: {:.0} %; both changed \
                 by front and back levels",
                100.0 * o.foreign.0 / (o.foreign.0 + o.foreign.1),
                100.0 * o.reversed
            ));
            let compass = o.compass;
            if compass.probability > 0.0 {
                out.push(format!(
                    "an error that all bearings of one team's compass share beyond what was stated: {:.0} %, and then ± {:.0}°",
                    100.0 * compass.probability,
                    compass.sigma.to_degrees()
                ));
            }
            if o.front.probability > 0.0 {
                out.push(format!(
                    "one place that foreign bearings share (a wall that reflects, another emitter): {:.0} %",
                    100.0 * o.front.probability
                ));
            }
            out.push(format!(
                "classes A, B, C, D mean 2°, 5°, 10°, 20° (one standard deviation), give or take {:.0} %; stated \
                 sigmas {:.0} %",
                100.0 * o.class_spread,
                100.0 * o.sigma_spread
            ));
        } else {
            out.push("every bearing is direct and its stated error is exact".to_owned());
        }
        if self.record.agreement.judgement == Judgement::Unstated {
            out.push(format!(
                "bearings without class or sigma: about {:.0}° (a factor {:.1} either way), and {:.0}° shared by all \
                 of them",
                o.unstated.to_degrees(),
                o.unstated_spread.exp(),
                o.unstated_shared.to_degrees()
            ));
        }
        if self.bearings.iter().any(|b| b.read().stand.sigma.is_none()) {
            out.push(format!(
                "stands without a stated error are known to {:.0} m (one standard deviation)",
                o.position.to_metres()
            ));
        }
        let told = self.findings.iter().filter(|f| f.severity == Severity::Assumed);
        out.extend(told.map(ToString::to_string));
        out
    }
}

/// What is taken for granted about levels.
fn level_priors(options: &crate::solve::Options, law: &LevelFit) -> Vec<String> {
    let p = &options.levels;
    vec![
        format!(
            "levels: at 1 m {:.0} ± {:.0} dBm, exponent {:.1} ± {:.1} near by and free to bend with distance, shadowing about \
             {:.0} dB (a factor {:.1} either way)",
            p.start.0,
            p.start.1,
            p.exponent.0,
            p.exponent.1,
            p.shadowing.0,
            p.shadowing.1.exp()
        ),
        format!(
            "losses that depend on direction from the emitter (its pattern, buildings beside it): ± {:.0} dB; receivers differ \
             by ± {:.0} dB",
            p.pattern[0], p.device
        ),
        format!(
            "the surroundings are regular with a probability of {:.0} %, by the levels ({:.0} % before them); where they are not, \
             levels count as {:.0} % of what they would if they followed the law exactly",
            100.0 * law.regular,
            100.0 * p.regular,
            100.0 * law.power
        ),
    ]
}
