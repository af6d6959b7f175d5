//! The answer as text: the place first, then the figures, the bearings, what is doubtful, what is assumed, cautions.

use std::fmt::{self, Write as _};

use crate::{
    finding::{Finding, Severity, clipped},
    observe::NorthReference,
    region::Ellipse,
    report::{Answer, drift, evidence, explain, reflections, two, words},
    safety::ALWAYS,
    solve::{Judgement, NorthHypothesis, OffSpot, Spot, Verdict},
    units::Confidence,
};

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut out = String::new();
        out += &words::wrapped(&self.summary(), "", "");
        stories(self, &mut out)?;
        way(self, &mut out)?;
        section(&mut out, "Two places", &two::lines(self));
        section(&mut out, "An emitter that moves", &drift::lines(self));
        // Before the figures: who has found the place in them goes.
        cautions(self, &mut out);
        figures(self, &mut out)?;
        if !self.bearings.is_empty() {
            table(self, &mut out)?;
        }
        section(&mut out, "Reflections on the map's buildings", &reflections::lines(self));
        section(&mut out, "Levels", &evidence::levels(self));
        section(&mut out, "Each kind alone", &evidence::kinds(self));
        north(self, &mut out);
        doubts(self, &mut out);
        assumptions(self, &mut out);
        f.write_str(&out)
    }
}

fn heading(out: &mut String, text: &str) {
    out.push('\n');
    out.push_str(text);
    out.push('\n');
}

/// A heading with its lines; nothing where there are none.
fn section(out: &mut String, title: &str, lines: &[String]) {
    if !lines.is_empty() {
        heading(out, title);
        lines.iter().for_each(|l| item(out, l));
    }
}

fn item(out: &mut String, text: &str) {
    for line in text.lines() {
        let line = line.trim_start();
        let indent = if line.starts_with("hint: ") { "    " } else { "  " };
        out.push_str(&words::wrapped(line, indent, "    "));
    }
}

fn stories(answer: &Answer, out: &mut String) -> fmt::Result {
    if answer.one_story() {
        return Ok(());
    }
    for (i, mode) in answer.fit.modes().iter().enumerate() {
        let at = words::place(mode.place, answer.deserved());
        writeln!(out, "  possibility {}: {at}, share {:.0} %", i + 1, 100.0 * mode.share)?;
    }
    Ok(())
}

/// How to get there: from the stand that is nearest to the first place.
fn way(answer: &Answer, out: &mut String) -> fmt::Result {
    let pairs = answer.bearings.iter().zip(&answer.record.residuals);
    let nearest = pairs.min_by(|a, b| a.1.range.value().total_cmp(&b.1.range.value()));
    let Some((bearing, residual)) = nearest.filter(|_| answer.region95().is_ok() && answer.one_story())
    else {
        return Ok(());
    };
    let name = clipped(&bearing.read().stand.name);
    let named =
        if name.is_empty() || name == clipped(&residual.id) { String::new() } else { format!(" ({name})") };
    let text = format!(
        "From {}{named}: {} toward {}.",
        clipped(&residual.id),
        words::distance(residual.range),
        words::bearing(residual.computed, NorthReference::True)
    );
    out.push_str(&words::wrapped(&text, "", ""));
    Ok(())
}

fn figures(answer: &Answer, out: &mut String) -> fmt::Result {
    heading(out, "Regions (highest posterior probability)");
    for region in &answer.regions {
        match region {
            Ok(r) => writeln!(out, "  {:.0} %  {}", 100.0 * r.confidence().value(), words::area(r.area()))?,
            Err(e) => writeln!(out, "  {:.0} %  not determined", 100.0 * e.confidence.value())?,
        }
    }
    match answer.ellipse {
        Some(ellipse) if answer.ellipse_fits() => customary(answer, &ellipse, out),
        Some(_) if answer.region95().is_ok() => item(
            out,
            "the customary ellipse, which takes the lines as parallel, differs much from the region here and is left out",
        ),
        _ => {}
    }
    Ok(())
}

fn customary(answer: &Answer, ellipse: &Ellipse, out: &mut String) {
    let wide = ellipse.widened(Confidence::P95, answer.scale);
    item(
        out,
        &format!(
            "customary 95 % ellipse of the first place: half-axes {} and {}, the longer along {}, {}; half of the \
             probability within {}",
            words::distance(wide.semi_major),
            words::distance(wide.semi_minor),
            words::bearing(wide.azimuth, NorthReference::True),
            words::area(wide.area()),
            words::distance(ellipse.circular_error(Confidence::P50))
        ),
    );
}

fn table(answer: &Answer, out: &mut String) -> fmt::Result {
    heading(out, "Bearings (miss = measured minus computed)");
    let width =
        answer.record.residuals.iter().map(|r| clipped(&r.id).chars().count()).max().unwrap_or(2).max(2);
    writeln!(out, "  {:<width$}   read   true  computed    miss  sigma  direct  verdict   without it", "id")?;
    for (bearing, r) in answer.bearings.iter().zip(&answer.record.residuals) {
        let read = bearing.read();
        let shift = r.shift_without.map_or("-".to_owned(), |m| format!("moves {}", words::distance(m)));
        writeln!(
            out,
            "  {:<width$}  {:>5}  {:>5}     {:>5}  {:>+5.1}°  {:>4.1}°  {:>4.0} %  {:<8}  {shift}",
            clipped(&read.id),
            words::bearing(read.read, read.north),
            words::bearing(bearing.azimuth(), NorthReference::True),
            words::bearing(r.computed, NorthReference::True),
            r.miss.to_degrees(),
            r.sigma.to_degrees(),
            100.0 * r.direct,
            r.verdict.word(),
        )?;
        if r.verdict != Verdict::Direct && !read.remarks.is_empty() {
            writeln!(out, "  {:width$}  remark: {}", "", clipped(&read.remarks))?;
        }
    }
    judgement(answer, out);
    Ok(())
}

fn judgement(answer: &Answer, out: &mut String) {
    let a = &answer.record.agreement;
    let sentence = match a.judgement {
        Judgement::TooFew => "too few direct bearings to judge their stated errors",
        Judgement::Unstated => "no error was stated for some bearings, so there is nothing to judge them by",
        Judgement::OverConfident => "over-confident: the errors are larger than stated",
        Judgement::UnderConfident => "under-confident: the errors are smaller than stated",
        Judgement::Consistent => "the misses agree with the stated errors",
    };
    let figures = match a.freedom {
        0 => String::new(),
        n => {
            let degrees = if n == 1 { "degree" } else { "degrees" };
            format!("chi-square {:.1} on {n} {degrees} of freedom, p = {:.2}: ", a.chi_square, a.p)
        }
    };
    item(out, &format!("{figures}{sentence}"));
    if let Some(shared) = answer.record.shared {
        item(
            out,
            &format!(
                "shared error of north: {:+.1}° (expected within {:.1}°)",
                shared.estimate.to_degrees(),
                shared.prior.to_degrees()
            ),
        );
    }
}

/// What the audit of north found: what fits much better, else what cannot be told and would matter.
fn north(answer: &Answer, out: &mut String) {
    let mut told: Vec<String> =
        answer.audit.iter().filter(|h| h.favoured()).take(2).map(|h| hypothesis(h, true)).collect();
    if told.is_empty() {
        told.extend(answer.north_untold().take(2).map(|h| hypothesis(h, false)));
    }
    if told.is_empty() && !answer.audit.is_empty() {
        told.push("other treatments of north were tried and fit no better".to_owned());
    }
    if !told.is_empty() {
        heading(out, "Audit of north");
        told.iter().for_each(|t| item(out, t));
    }
}

fn hypothesis(tried: &NorthHypothesis, favoured: bool) -> String {
    let whose = match &tried.team {
        Some(team) => {
            format!("the {} of {}", words::count(tried.turned, "bearing", "bearings"), clipped(team))
        }
        None => words::count(tried.turned, "bearing", "bearings"),
    };
    let moved =
        tried.shift.map_or(String::new(), |m| format!("; the place would move {}", words::distance(m)));
    let turned = format!("{whose} would turn by {:+.1}°{moved}", tried.by.to_degrees());
    if favoured {
        format!(
            "DOUBTFUL: it fits better by a factor {} if {}. {turned}. Ask who read the compass before you search.",
            words::factor(tried.gain),
            tried.kind.words(),
        )
    } else {
        format!(
            "cannot tell from these bearings whether {}: {turned}. A bearing from another side would tell.",
            tried.kind.words()
        )
    }
}

fn doubts(answer: &Answer, out: &mut String) {
    let doubts: Vec<&Finding> = answer.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
    let two = answer.bearings.len() == 2;
    let near = answer.fit.modes().first().filter(|m| m.nearest_stand.value() < 20.0 && answer.law.is_none());
    let (far_out, along) = answer.fit.far_out();
    let leans = answer.region95().is_ok() && far_out > 1.0 - Confidence::P95.value();
    let off: Vec<&Spot> = answer.spots.iter().filter(|s| s.judged == OffSpot::Off).collect();
    if doubts.is_empty() && !two && near.is_none() && !leans && off.is_empty() {
        return;
    }
    heading(out, "Doubtful or not used");
    if leans {
        item(
            out,
            &format!(
                "the observations alone do not exclude places far out toward {}: how far the region reaches that way rests on \
                 what is assumed about distance; {} settles it",
                words::bearing(along, NorthReference::True),
                if answer.bearings.is_empty() { "a walk that way" } else { "a bearing from the side" }
            ),
        );
    }
    if two {
        item(
            out,
            "two bearings cannot check each other: if one is a reflection, nothing shows it; take a third",
        );
    }
    if let Some(mode) = near {
        item(
            out,
            &format!(
                "the place lies {} from a stand, nearer than bearings can tell: look around that stand, and take \
                 bearings from farther off",
                words::distance(mode.nearest_stand)
            ),
        );
    }
    off.iter().for_each(|spot| item(out, &explain::off_spot(answer, spot)));
    words::told(&doubts).iter().for_each(|f| item(out, f));
}

fn assumptions(answer: &Answer, out: &mut String) {
    heading(out, "Assumed");
    answer.assumptions().iter().for_each(|a| item(out, a));
}

fn cautions(answer: &Answer, out: &mut String) {
    heading(out, "Cautions");
    for caution in &answer.cautions {
        item(out, &format!("{} [{}]", caution.text, clipped(&caution.trigger)));
    }
    item(out, ALWAYS);
}
