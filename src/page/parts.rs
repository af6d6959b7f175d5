//! The parts of the page that tell of the answer.

use crate::{
    export::{self, FitLine, Heard, ProfilePoint},
    finding::Severity,
    north,
    observe::{NorthReference, Quality},
    page::{
        Content, figures,
        html::{escaped, figure, heading, list, paragraph, signed, table, unbroken},
    },
    region::Scale,
    report::{Answer, area, bearing, count, distance},
    safety::{ALWAYS, Caution},
    solve::Verdict,
    units::{Confidence, Metres, Sigma},
};

/// More rows than this stay in the files that were read.
const MOST_ROWS: usize = 500;

/// The answer in a few sentences.
pub fn summary(content: &Content, out: &mut String) {
    let answer = content.answer;
    let verdicts = |v: Verdict| answer.record.residuals.iter().filter(|r| r.verdict == v).count();
    let mut rests = Vec::new();
    if !answer.bearings.is_empty() {
        rests.push(format!(
            "{} ({} direct, {} reversed, {} foreign)",
            count(answer.bearings.len(), "bearing", "bearings"),
            verdicts(Verdict::Direct),
            verdicts(Verdict::Reversed),
            verdicts(Verdict::Foreign)
        ));
    }
    if !answer.levels.levels.is_empty() {
        rests.push(count(answer.levels.levels.len(), "level", "levels"));
    }
    if !answer.sectors.is_empty() {
        rests.push(count(answer.sectors.len(), "sector", "sectors"));
    }
    let half = answer.regions.first().and_then(|r| r.as_ref().ok()).filter(|_| answer.region95().is_ok());
    *out += &format!(
        "<p class=\"first\">{}{} It rests on {}. This is an area to search, not a finding that anything or anybody in it is the \
         source.</p>\n",
        escaped(&content.allowed(&answer.summary())),
        half.map_or(String::new(), |r| format!(
            " Half of the probability lies in {} of it.",
            escaped(&area(r.area()))
        )),
        escaped(&rests.join(", "))
    );
    if !answer.one_story() {
        let told = |(i, m): (usize, &crate::solve::Mode)| {
            let share = format!("{:.0} %", 100.0 * m.share);
            vec![(i + 1).to_string(), escaped(&content.place(m.place, answer.deserved())), share]
        };
        let rows: Vec<Vec<String>> = answer.fit.modes().iter().enumerate().map(told).collect();
        table(out, &["possibility", "latitude, longitude (WGS 84)", "share"], &[0, 2], &rows);
    }
}

/// The map.
pub fn map(content: &Content, out: &mut String) {
    heading(out, "Map");
    if content.shared() {
        paragraph(out, "Left out of this form: lines and outlines would tell places nearer than it allows.");
    } else {
        drawn(content, out);
    }
    areas(content, out);
}

/// The drawings.
fn drawn(content: &Content, out: &mut String) {
    let caption = "True north is up. Circles are stands, lines the bearings as used: whole for direct ones, dotted for reversed, \
                   dashed for foreign ones. Shades are the 95, 90 and 50 % regions, the cross the likeliest place.";
    figure(out, &export::drawing(content.answer, content.background), caption);
    if let Some(svg) = export::close_up(content.answer, content.background) {
        figure(out, &svg, "The regions of the map above, nearer.");
    }
}

/// The regions in figures.
fn areas(content: &Content, out: &mut String) {
    let rows: Vec<Vec<String>> = content
        .answer
        .regions
        .iter()
        .map(|region| match region {
            Ok(r) => vec![
                format!("{:.0} %", 100.0 * r.confidence().value()),
                escaped(&area(r.area())),
                r.parts().len().to_string(),
            ],
            Err(e) => vec![
                format!("{:.0} %", 100.0 * e.confidence.value()),
                "not determined".to_owned(),
                String::new(),
            ],
        })
        .collect();
    table(out, &["probability", "smallest area that holds the emitter", "parts"], &[0, 2], &rows);
}

/// How it was done, and north.
pub fn method(content: &Content, out: &mut String) {
    heading(out, "Method");
    paragraph(
        out,
        "Every place within reach was weighed by how well it explains all observations together. A bearing may be direct, reversed \
         (front and back confused) or foreign (a reflection, another emitter, a slip); the share of foreign ones, a common scale of \
         the stated errors and a shared error of north are averaged over, not chosen. Levels fall with the logarithm of distance; \
         power, exponent, losses by direction and the shadowing that neighbours share are averaged over too. The regions are those \
         of highest posterior probability.",
    );
    heading(out, "Taken for granted");
    let mut assumed = content.answer.assumptions();
    if content.shared() {
        let findings = &content.answer.findings;
        assumed.retain(|a| findings.iter().all(|f| f.to_string() != *a));
        list(out, &assumed);
        heading(out, "Findings of reading, by their codes");
        let mut codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
        codes.sort_unstable();
        codes.dedup();
        let times = |code: &str| findings.iter().filter(|f| f.code == code).count();
        let told = codes.iter().map(|c| format!("{c}: {}", count(times(c), "time", "times")));
        list(out, &told.collect::<Vec<_>>());
        return;
    }
    list(out, &assumed.iter().map(|a| a.replace("\n  hint: ", ". To do: ")).collect::<Vec<_>>());
    let doubts = content.answer.findings.iter().filter(|f| f.severity != Severity::Assumed);
    let told: Vec<String> = doubts.map(|f| f.to_string().replace("\n  hint: ", ". To do: ")).collect();
    if !told.is_empty() {
        heading(out, "Doubtful or not used");
        list(out, &told);
    }
}

/// What was added to each kind of reading, and for which date.
pub fn norths(content: &Content, out: &mut String) {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for b in &content.answer.bearings {
        let read = b.read();
        let name = match read.north {
            NorthReference::True => continue,
            NorthReference::Magnetic => "magnetic",
            NorthReference::Grid(_) => "grid",
        };
        let date = read.civil_date().map_or("not written down".to_owned(), |d| d.to_string());
        let sigma = b.shared_sigma().map_or("exact".to_owned(), |s| format!("± {:.1}°", s.to_degrees()));
        let row = vec![name.to_owned(), unbroken(&date), escaped(&north::in_words(b.correction())), sigma];
        if !rows.contains(&row) {
            rows.push(row);
        }
    }
    if rows.is_empty() {
        return;
    }
    heading(out, "North and its date");
    table(
        out,
        &["north of the reading", "date of the reading", "added to it", "one standard deviation, shared"],
        &[],
        &rows,
    );
}

/// Observations as read and as used.
pub fn observations(content: &Content, out: &mut String) {
    let answer = content.answer;
    if answer.bearings.is_empty() {
        return;
    }
    heading(out, "Bearings as read and as used");
    let rows: Vec<Vec<String>> = answer
        .bearings
        .iter()
        .zip(&answer.record.residuals)
        .take(MOST_ROWS)
        .map(|(b, r)| {
            let read = b.read();
            let stated = match &read.quality {
                Quality::Class(class) => format!("class {class:?}"),
                Quality::Sigma(sigma) => format!("{:.1}°", sigma.to_degrees()),
                Quality::Unstated => "-".to_owned(),
            };
            vec![
                escaped(&read.id),
                read.time.as_ref().map_or("-".to_owned(), |t| unbroken(&t.to_string().replace('T', " "))),
                unbroken(&content.place(read.stand.at, Metres::new(1.0))),
                bearing(read.read, read.north),
                bearing(b.azimuth(), NorthReference::True),
                stated,
                bearing(r.computed, NorthReference::True),
                signed(&format!("{:+.1}°", r.miss.to_degrees())),
                r.verdict.word().to_owned(),
            ]
        })
        .collect();
    let head =
        ["id", "time", "stand (WGS 84)", "as read", "true", "error stated", "computed", "miss", "taken for"];
    table(out, &head, &[3, 4, 6, 7], &rows);
    let told = |r: &&crate::observe::ReadBearing| !content.shared() && !r.remarks.trim().is_empty();
    let remarked = answer.bearings.iter().map(|b| b.read()).filter(told);
    list(out, &remarked.take(MOST_ROWS).map(|r| format!("{}: {}", r.id, r.remarks)).collect::<Vec<_>>());
    if answer.bearings.len() > MOST_ROWS {
        paragraph(out, &format!("{} more are in the files named below.", answer.bearings.len() - MOST_ROWS));
    }
    paragraph(
        out,
        "M: magnetic, T: true, G: grid north. What turned magnetic and grid bearings into true ones, and for which date, stands under \
         \"Taken for granted\". Classes A, B, C are ±2°, ±5°, ±10° as the Radio Regulations have them.",
    );
}

/// The misses, drawn and judged.
pub fn misses(content: &Content, out: &mut String) {
    let Some(svg) = figures::misses(content.answer) else { return };
    heading(out, "Misses");
    let a = &content.answer.record.agreement;
    let judged = match a.freedom {
        0 => "Too few direct bearings to judge the errors stated.".to_owned(),
        n => format!(
            "Chi-square of the direct bearings {:.1} on {n} degrees of freedom, p = {:.2}.",
            a.chi_square, a.p
        ),
    };
    figure(out, &svg, &judged);
}

/// Levels against distance.
pub fn levels(content: &Content, out: &mut String) {
    let answer = content.answer;
    let against = answer.against();
    if against.is_empty() {
        return;
    }
    heading(out, "Levels");
    let points: Vec<ProfilePoint> = against
        .iter()
        .map(|a| ProfilePoint {
            distance: a.distance,
            level: a.level,
            heard: if a.below { Heard::BelowFloor } else { Heard::Measured },
        })
        .collect();
    let line = answer.law.and_then(|law| {
        Some(FitLine {
            start: law.start.0,
            reference: Metres::new(1.0),
            exponent: law.exponent.0,
            sigma: Sigma::db(law.shadowing.value())?,
        })
    });
    let caption = "Every reading against its distance from the place quoted; the band is one standard deviation of the shadowing. Losses \
                   that depend on direction are part of the scatter.";
    figure(out, &export::profile("Levels against distance", &points, line.as_ref()), caption);
    if let Some(law) = answer.law {
        paragraph(
            out,
            &format!(
                "{} readings, {} of them below the floor; neighbours share their shadow, so that they tell as much as {:.0} that do not. \
                 Level at 1 m {} ± {:.0} dBm, exponent {:.1} ± {:.1} (one standard deviation).",
                law.readings,
                law.below,
                law.effective.max(1.0),
                signed(&format!("{:.0}", law.start.0.value())),
                law.start.1.value(),
                law.exponent.0,
                law.exponent.1
            ),
        );
    }
}

/// The uncertainty in the words of the guide.
pub fn uncertainty(content: &Content, out: &mut String) {
    let answer = content.answer;
    heading(out, "Uncertainty");
    let mut text = match answer.region95() {
        Ok(region) => format!(
            "The result is the region of highest posterior probability, {}, which holds the emitter with a probability of 95 % if what is \
             taken for granted holds.",
            area(region.area())
        ),
        Err(open) => {
            format!("{open}. No figure of uncertainty is given for a place that the data do not determine.")
        }
    };
    if let Some(ellipse) = answer.ellipse.filter(|_| answer.ellipse_fits()) {
        text += &two_dimensions(answer, &ellipse);
    }
    paragraph(out, &text);
}

/// The customary ellipse with its coverage factor.
fn two_dimensions(answer: &Answer, ellipse: &crate::region::Ellipse) -> String {
    let wide = ellipse.widened(Confidence::P95, answer.scale);
    let factor = wide.semi_major.value() / ellipse.semi_major.value();
    let how = match answer.scale {
        Scale::Known => "for a normal distribution of two dimensions",
        Scale::Estimated { .. } => "for two dimensions, with the errors themselves estimated",
    };
    format!(
        " Beside it the customary ellipse: combined standard uncertainties {} and {} along its axes (the longer toward {}), times a \
         coverage factor k = {factor:.2} {how}: half-axes {} and {} at a level of confidence of about 95 % (in the manner of the Guide to \
         the Expression of Uncertainty in Measurement, 7.2.4; in one dimension the same level has k = 1.96).",
        distance(ellipse.semi_major),
        distance(ellipse.semi_minor),
        bearing(ellipse.azimuth, NorthReference::True),
        distance(wide.semi_major),
        distance(wide.semi_minor)
    )
}

/// What would overturn the conclusion.
pub fn changes(content: &Content, out: &mut String) {
    heading(out, "What would change this");
    let changes = content.answer.changes(content.overturn);
    list(out, &changes.iter().map(|c| content.allowed(c)).collect::<Vec<_>>());
    // The reasons quote remarks.
    let disagreeing = content.answer.disagreeing();
    if !content.shared() && !disagreeing.is_empty() {
        heading(out, "Which observations disagree, and why they may");
        list(out, &disagreeing);
    }
}

/// Cautions with figures.
pub fn cautions(content: &Content, out: &mut String) {
    heading(out, "Cautions");
    let why = |c: &Caution| {
        if content.shared() { c.text.to_string() } else { format!("{} [{}]", c.text, c.trigger) }
    };
    let mut told: Vec<String> = content.answer.cautions.iter().map(why).collect();
    told.push(ALWAYS.to_owned());
    list(out, &told);
}
