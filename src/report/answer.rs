//! The whole answer to a file of bearings.

use std::fmt::{self, Write as _};

use crate::{
    finding::{Finding, Severity},
    north::TrueBearing,
    observe::NorthReference,
    region::{Ellipse, NotDetermined, Region, Scale},
    report::words,
    safety::{ALWAYS, Caution},
    solve::{Fit, Judgement, Loss, Mode, Record, Verdict},
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
    /// Findings of reading, checking and bringing to true north.
    pub findings: Vec<Finding>,
    /// Cautions that the notes set off.
    pub cautions: Vec<Caution>,
}

/// Gathers regions, ellipse and record of a fit.
pub fn answer(
    fit: Fit,
    bearings: Vec<TrueBearing>,
    findings: Vec<Finding>,
    cautions: Vec<Caution>,
) -> Answer {
    let record = fit.record(&bearings);
    let regions = [Confidence::P50, Confidence::P90, Confidence::P95].map(|c| Region::of(&fit, c)).to_vec();
    let ellipse = fit.modes().first().and_then(|m| m.covariance).and_then(Ellipse::one_sigma);
    let scale = match record.agreement.judgement {
        Judgement::Unstated if record.agreement.freedom > 0 => {
            Scale::Estimated { freedom: f64::from(record.agreement.freedom) }
        }
        _ => Scale::Known,
    };
    Answer { fit, bearings, record, regions, ellipse, scale, findings, cautions }
}

impl Answer {
    /// Whether a 95 % region was found and no row was refused.
    pub fn complete(&self) -> bool {
        self.region95().is_ok() && self.findings.iter().all(|f| f.severity != Severity::Refused)
    }

    /// The 95 % region.
    pub fn region95(&self) -> &Result<Region, NotDetermined> {
        &self.regions[2]
    }

    fn headline(&self, out: &mut String) -> fmt::Result {
        let Some(mode) = self.fit.modes().first() else {
            return writeln!(out, "These bearings do not determine a place.");
        };
        match self.region95() {
            Ok(region) => {
                let parts = region.parts().len();
                let pieces = if parts > 1 { format!(" in {parts} parts") } else { String::new() };
                write!(out, "Search {}{pieces}", words::area(region.area()))?;
                if mode.share > 0.9 {
                    writeln!(out, " around {}.", words::place(mode.place, self.deserved()))?;
                } else {
                    writeln!(out, ": more than one place fits.")?;
                }
                writeln!(out, "That area holds the emitter 95 times in 100, if the assumptions below hold.")
            }
            Err(open) => {
                writeln!(out, "T{}.", &open.to_string()[1..])?;
                writeln!(
                    out,
                    "A bearing from the side closes it: stand well off the line toward {} and take another.",
                    words::bearing(open.along, NorthReference::True)
                )
            }
        }
    }

    fn deserved(&self) -> Metres {
        self.ellipse.map_or(Metres::new(1000.0), |e| e.semi_major)
    }

    fn stories(&self, out: &mut String) -> fmt::Result {
        let told: Vec<&Mode> = self.fit.modes().iter().collect();
        if told.first().is_some_and(|m| m.share > 0.9) {
            return Ok(());
        }
        for (i, mode) in told.iter().enumerate() {
            let at = words::place(mode.place, self.deserved());
            writeln!(out, "  story {}: {at}, share {:.0} %", i + 1, 100.0 * mode.share)?;
        }
        Ok(())
    }

    fn figures(&self, out: &mut String) -> fmt::Result {
        writeln!(out, "\nRegions (highest posterior probability)")?;
        for region in &self.regions {
            match region {
                Ok(r) => {
                    writeln!(out, "  {:.0} %  {}", 100.0 * r.confidence().value(), words::area(r.area()))?;
                }
                Err(e) => writeln!(out, "  {:.0} %  not determined", 100.0 * e.confidence.value())?,
            }
        }
        if let Some(e) = self.ellipse {
            let wide = e.widened(Confidence::P95, self.scale);
            writeln!(
                out,
                "  customary 95 % ellipse of the first place: {:.0} m by {:.0} m half-axes, long axis along {}, {}",
                wide.semi_major.value(),
                wide.semi_minor.value(),
                words::bearing(wide.azimuth, NorthReference::True),
                words::area(wide.area())
            )?;
            writeln!(
                out,
                "  half within {:.0} m (circular error probable)",
                e.circular_error(Confidence::P50).value()
            )?;
        }
        Ok(())
    }

    fn table(&self, out: &mut String) -> fmt::Result {
        writeln!(out, "\nBearings")?;
        writeln!(out, "  id      read   true  computed    miss  sigma  direct  verdict   without it")?;
        for (bearing, r) in self.bearings.iter().zip(&self.record.residuals) {
            let read = bearing.read();
            let shift = r.shift_without.map_or("-".to_owned(), |m| format!("moves {:.0} m", m.value()));
            writeln!(
                out,
                "  {:<6} {:>5}  {:>5}     {:>5}  {:>+6.1}  {:>5.1}  {:>5.0} %  {:<8}  {shift}",
                crate::finding::clipped(&read.id),
                words::bearing(read.read, read.north),
                words::bearing(bearing.azimuth(), NorthReference::True),
                words::bearing(r.computed, NorthReference::True),
                r.miss.to_degrees(),
                r.sigma.to_degrees(),
                100.0 * r.direct,
                r.verdict.word(),
            )?;
            if r.verdict != Verdict::Direct && !read.remarks.is_empty() {
                writeln!(out, "         remark: {}", crate::finding::clipped(&read.remarks))?;
            }
        }
        self.judgement(out)
    }

    fn judgement(&self, out: &mut String) -> fmt::Result {
        let a = &self.record.agreement;
        let sentence = match a.judgement {
            Judgement::TooFew => "too few direct bearings to judge their stated errors",
            Judgement::Unstated => {
                "no error was stated for some bearings, so there is nothing to judge them by"
            }
            Judgement::OverConfident => "over-confident: the errors are larger than stated",
            Judgement::UnderConfident => "under-confident: the errors are smaller than stated",
            Judgement::Consistent => "the misses agree with the stated errors",
        };
        writeln!(
            out,
            "  chi-square {:.1} on {} degrees of freedom, p = {:.2}: {sentence}",
            a.chi_square, a.freedom, a.p
        )?;
        if let Some(shared) = self.record.shared {
            writeln!(
                out,
                "  shared error of north: {:+.1}° (expected within {:.1}°)",
                shared.estimate.to_degrees(),
                shared.prior.to_degrees()
            )?;
            if shared.estimate.to_degrees().abs() > 2.0 * shared.prior.to_degrees() {
                writeln!(
                    out,
                    "  doubtful: all bearings seem turned the same way; was the declination forgotten or applied twice?"
                )?;
            }
        }
        Ok(())
    }

    fn assumptions(&self, out: &mut String) -> fmt::Result {
        let o = self.fit.options();
        writeln!(out, "\nAssumed")?;
        let within = self.fit.within().value() / 1e3;
        writeln!(
            out,
            "  before any bearing: anywhere within {within:.0} km of the stands, far places less likely (even in log distance)"
        )?;
        if o.loss == Loss::Mixture {
            let share = o.foreign.0 / (o.foreign.0 + o.foreign.1);
            writeln!(
                out,
                "  foreign bearings (reflections, other emitters): {:.0} % on average; reversed: {:.0} %; changed by front and back levels",
                100.0 * share,
                100.0 * o.reversed
            )?;
            writeln!(
                out,
                "  classes A, B, C, D mean 2°, 5°, 10°, 20° (one standard deviation), give or take {:.0} %; stated sigmas {:.0} %",
                100.0 * o.class_spread,
                100.0 * o.sigma_spread
            )?;
        }
        if self.record.agreement.judgement == Judgement::Unstated {
            writeln!(
                out,
                "  bearings without class or sigma: about {:.0}° (a factor {:.1} either way), and {:.0}° shared by all of them",
                o.unstated.to_degrees(),
                o.unstated_spread.exp(),
                o.unstated_shared.to_degrees()
            )?;
        }
        for f in self.findings.iter().filter(|f| f.severity == Severity::Assumed) {
            writeln!(out, "  {f}")?;
        }
        Ok(())
    }

    fn doubts(&self, out: &mut String) -> fmt::Result {
        let two = self.bearings.len() == 2;
        let doubts: Vec<&Finding> =
            self.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
        if doubts.is_empty() && !two {
            return Ok(());
        }
        writeln!(out, "\nDoubtful or not used")?;
        if two {
            writeln!(
                out,
                "  two bearings cannot check each other: if one is a reflection, nothing shows it; take a third"
            )?;
        }
        for f in doubts {
            writeln!(out, "  {f}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut out = String::new();
        self.headline(&mut out)?;
        self.stories(&mut out)?;
        self.figures(&mut out)?;
        self.table(&mut out)?;
        self.doubts(&mut out)?;
        self.assumptions(&mut out)?;
        writeln!(out, "\nCautions")?;
        for caution in &self.cautions {
            writeln!(out, "  {} ({})", caution.text, crate::finding::clipped(&caution.trigger))?;
        }
        writeln!(out, "  {ALWAYS}")?;
        f.write_str(&out)
    }
}
