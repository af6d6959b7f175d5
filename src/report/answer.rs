//! The whole answer to a file of bearings.

use crate::{
    finding::{Finding, Severity},
    north::TrueBearing,
    observe::NorthReference,
    region::{Ellipse, NotDetermined, Region, Scale},
    report::words,
    safety::Caution,
    solve::{Fit, Judgement, Loss, Mode, NorthHypothesis, Record},
    units::{Confidence, Metres},
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
    /// Other treatments of north, tried; most favoured first.
    pub audit: Vec<NorthHypothesis>,
    /// Findings of reading, checking and bringing to true north.
    pub findings: Vec<Finding>,
    /// Cautions that the notes set off.
    pub cautions: Vec<Caution>,
}

/// What goes into an answer beside the fit.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    /// The bearings that went into the fit, in its order.
    pub bearings: Vec<TrueBearing>,
    /// Other treatments of north, tried.
    pub audit: Vec<NorthHypothesis>,
    /// Findings of reading, checking and bringing to true north.
    pub findings: Vec<Finding>,
    /// Cautions that the notes set off.
    pub cautions: Vec<Caution>,
}

/// Gathers regions, ellipse and record of a fit.
pub fn answer(fit: Fit, notes: Notes) -> Answer {
    let Notes { bearings, audit, findings, cautions } = notes;
    let record = fit.record(&bearings);
    let regions = Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95]);
    let ellipse = fit.modes().first().and_then(|m| m.covariance).and_then(Ellipse::one_sigma);
    let scale = match record.agreement.judgement {
        Judgement::Unstated if record.agreement.freedom > 0 => {
            Scale::Estimated { freedom: f64::from(record.agreement.freedom) }
        }
        _ => Scale::Known,
    };
    Answer { fit, bearings, record, regions, ellipse, scale, audit, findings, cautions }
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
            (None, Ok(_)) => "These bearings do not determine a place.".to_owned(),
            (_, Err(open)) => self.open(open),
        };
        if self.doubtful() {
            out += " DOUBTFUL: ";
            out += match self.audit.iter().any(NorthHypothesis::favoured) {
                true => "the bearings fit much better with another north; see the audit of north.",
                false => "the declination stated is not that of the place; see what is doubtful.",
            };
        }
        if !self.doubtful() && self.north_untold().next().is_some() {
            out += " North cannot be checked from these bearings: see the audit of north.";
        }
        let refused = self.rows_refused();
        if refused > 0 {
            let rows = words::count(refused, "row was", "rows were");
            out += &format!(
                " It rests on {}; {rows} refused.",
                words::count(self.bearings.len(), "bearing", "bearings")
            );
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

    /// Whether something speaks strongly against the answer as a whole.
    pub fn doubtful(&self) -> bool {
        self.audit.iter().any(NorthHypothesis::favoured)
            || self.findings.iter().any(|f| f.code == "declination-strange")
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
        let at = words::place(mode.place, self.deserved());
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
        format!(
            "T{}. A bearing from the side closes it: stand well off the line toward {toward} and take another.",
            &open.to_string()[1..]
        )
    }

    /// What the answer rests on beside the notes: the solver's priors, then what reading them took for granted.
    pub fn assumptions(&self) -> Vec<String> {
        let o = self.fit.options();
        let within = self.fit.within().value() / 1e3;
        let half = words::distance(self.fit.prior_half());
        let mut out = vec![format!(
            "before any bearing: anywhere within {within:.0} km of the stands, as likely within {half} as beyond"
        )];
        if o.loss == Loss::Mixture {
            out.push(format!(
                "foreign bearings (reflections, other emitters): {:.0} % on average; reversed: {:.0} %; both changed \
                 by front and back levels",
                100.0 * o.foreign.0 / (o.foreign.0 + o.foreign.1),
                100.0 * o.reversed
            ));
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
