//! The parts of the page that tell of the answer.

use crate::{
    export::{self, FitLine, Heard, ProfilePoint},
    finding::Severity,
    north,
    observe::{NorthReference, Quality},
    page::{
        Content,
        document::{Document, Run, signed, unbroken, words},
        figures,
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
pub fn summary(content: &Content, out: &mut Document) {
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
    out.notice(&format!(
        "{}{} It rests on {}. This is an area to search, not a finding that anything or anybody in it is the source.",
        content.allowed(&answer.summary()),
        half.map_or(String::new(), |r| format!(" Half of the probability lies in {} of it.", area(r.area()))),
        rests.join(", ")
    ));
    if !answer.one_story() {
        let told = |(i, m): (usize, &crate::solve::Mode)| {
            let share = format!("{:.0} %", 100.0 * m.share);
            vec![words((i + 1).to_string()), words(content.place(m.place, answer.deserved())), words(share)]
        };
        let rows = answer.fit.modes().iter().enumerate().map(told).collect();
        out.table(&["possibility", "latitude, longitude (WGS 84)", "share"], &[0, 2], rows);
    }
}

/// The map.
pub fn map(content: &Content, out: &mut Document) {
    out.heading("Map");
    if content.shared() {
        out.paragraph("Left out of this form: lines and outlines would tell places nearer than it allows.");
        areas(content, out);
    } else {
        drawn(content, out);
        areas(content, out);
        nearer(content, out);
    }
}

/// The map of all.
fn drawn(content: &Content, out: &mut Document) {
    let caption = "True north is up. Circles are stands, lines the bearings as used: whole for direct ones, dotted for reversed, \
                   dashed for foreign ones. Shades are the 95, 90 and 50 % regions, the cross the likeliest place.";
    let levels = " Dots are levels, larger where stronger; triangles were below the floor.";
    let caption = format!("{caption}{}", if content.answer.levels.levels.is_empty() { "" } else { levels });
    let shows = format!("Map of the stands, bearings and regions. {}", content.answer.summary());
    out.figure(export::drawing(content.answer, content.background), &shows, &caption);
}

/// The map of the regions alone, where they are small on the map of all.
fn nearer(content: &Content, out: &mut Document) {
    if let Some(svg) = export::close_up(content.answer, content.background) {
        let near = "The regions of the map above, nearer.";
        out.figure(svg, near, near);
    }
}

/// The regions in figures.
fn areas(content: &Content, out: &mut Document) {
    let share = |c: Confidence| words(format!("{:.0} %", 100.0 * c.value()));
    let rows = content.answer.regions.iter().map(|region| match region {
        Ok(r) => vec![share(r.confidence()), words(area(r.area())), words(r.parts().len().to_string())],
        Err(e) => vec![share(e.confidence), words("not determined"), words("-")],
    });
    out.table(&["probability", "smallest area that holds the emitter", "parts"], &[0, 2], rows.collect());
}

/// How it was done, and north.
pub fn method(content: &Content, out: &mut Document) {
    out.heading("Method");
    out.paragraph(
        "Every place within reach was weighed by how well it explains all observations together. A bearing may be direct, reversed \
         (front and back confused) or foreign (a reflection, another emitter, a slip); the share of foreign ones, a common scale of \
         the stated errors and a shared error of north are averaged over, not chosen. Levels fall with the logarithm of distance; \
         power, exponent, losses by direction and the shadowing that neighbours share are averaged over too. The regions are those \
         of highest posterior probability.",
    );
    out.heading("Taken for granted");
    let mut assumed = content.answer.assumptions();
    if content.shared() {
        let findings = &content.answer.findings;
        assumed.retain(|a| findings.iter().all(|f| f.to_string() != *a));
        out.list(&assumed);
        let mut codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
        codes.sort_unstable();
        codes.dedup();
        let times = |code: &str| findings.iter().filter(|f| f.code == code).count();
        let told = codes.iter().map(|c| format!("{c}: {}", count(times(c), "time", "times")));
        if !codes.is_empty() {
            out.heading("Findings of reading, by their codes");
            out.list(&told.collect::<Vec<_>>());
        }
        return;
    }
    out.list(&assumed.iter().map(|a| a.replace("\n  hint: ", ". To do: ")).collect::<Vec<_>>());
    let doubts = content.answer.findings.iter().filter(|f| f.severity != Severity::Assumed);
    let told: Vec<String> = doubts.map(|f| f.to_string().replace("\n  hint: ", ". To do: ")).collect();
    if !told.is_empty() {
        out.heading("Doubtful or not used");
        out.list(&told);
    }
}

/// What was added to each kind of reading, and for which date.
pub fn norths(content: &Content, out: &mut Document) {
    let mut rows: Vec<Vec<Run>> = Vec::new();
    for b in &content.answer.bearings {
        let read = b.read();
        let name = match read.north {
            NorthReference::True => continue,
            NorthReference::Magnetic => "magnetic",
            NorthReference::Grid(_) => "grid",
        };
        let date = read.civil_date().map_or("not written down".to_owned(), |d| d.to_string());
        let sigma = b.shared_sigma().map_or("exact".to_owned(), |s| format!("± {:.1}°", s.to_degrees()));
        let row = vec![words(name), unbroken(&date), words(north::in_words(b.correction())), words(sigma)];
        if !rows.contains(&row) {
            rows.push(row);
        }
    }
    if rows.is_empty() {
        return;
    }
    out.heading("North and its date");
    out.table(
        &["north of the reading", "date of the reading", "added to it", "one standard deviation, shared"],
        &[],
        rows,
    );
}

/// Observations as read and as used.
pub fn observations(content: &Content, out: &mut Document) {
    let answer = content.answer;
    if answer.bearings.is_empty() {
        return;
    }
    out.heading("Bearings as read and as used");
    let rows = answer.bearings.iter().zip(&answer.record.residuals).take(MOST_ROWS).map(|(b, r)| {
        let read = b.read();
        let stated = match &read.quality {
            Quality::Class(class) => format!("class {class:?}"),
            Quality::Sigma(sigma) => format!("{:.1}°", sigma.to_degrees()),
            Quality::Unstated => "-".to_owned(),
        };
        let time = read.time.as_ref().map_or("-".to_owned(), |t| t.to_string().replace('T', " "));
        vec![
            words(&read.id),
            unbroken(time),
            unbroken(content.place(read.stand.at, Metres::new(1.0))),
            words(bearing(read.read, read.north)),
            words(bearing(b.azimuth(), NorthReference::True)),
            words(stated),
            words(bearing(r.computed, NorthReference::True)),
            words(signed(&format!("{:+.1}°", r.miss.to_degrees()))),
            words(r.verdict.word()),
        ]
    });
    let head =
        ["id", "time", "stand (WGS 84)", "as read", "true", "error stated", "computed", "miss", "taken for"];
    out.table(&head, &[3, 4, 6, 7], rows.collect());
    let told = |r: &&crate::observe::ReadBearing| !content.shared() && !r.remarks.trim().is_empty();
    let remarked = answer.bearings.iter().map(|b| b.read()).filter(told);
    out.list(&remarked.take(MOST_ROWS).map(|r| format!("{}: {}", r.id, r.remarks)).collect::<Vec<_>>());
    if answer.bearings.len() > MOST_ROWS {
        out.paragraph(&format!("{} more are in the files named below.", answer.bearings.len() - MOST_ROWS));
    }
    out.paragraph(
        "M: magnetic, T: true, G: grid north. What turned magnetic and grid bearings into true ones, and for which date, stands under \
         \"Taken for granted\". Classes A, B, C are ±2°, ±5°, ±10° as the Radio Regulations have them.",
    );
}

/// The misses, drawn and judged.
pub fn misses(content: &Content, out: &mut Document) {
    let Some(svg) = figures::misses(content.answer) else { return };
    out.heading("Misses");
    let a = &content.answer.record.agreement;
    let judged = match a.freedom {
        0 => "Too few direct bearings to judge the errors stated.".to_owned(),
        n => format!(
            "Chi-square of the direct bearings {:.1} on {n} degrees of freedom, p = {:.2}.",
            a.chi_square, a.p
        ),
    };
    let shows = format!(
        "Misses of {}; the table above has their figures.",
        count(content.answer.bearings.len(), "bearing", "bearings")
    );
    out.figure(svg, &shows, &judged);
}

/// Levels against distance.
pub fn levels(content: &Content, out: &mut Document) {
    let answer = content.answer;
    let against = answer.against();
    if against.is_empty() {
        return;
    }
    out.heading("Levels");
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
    let shows = format!(
        "{} against their distances from the place quoted.",
        count(points.len(), "reading", "readings")
    );
    out.figure(export::profile("Levels against distance", &points, line.as_ref()), &shows, caption);
    if let Some(law) = answer.law {
        out.paragraph(
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
pub fn uncertainty(content: &Content, out: &mut Document) {
    let answer = content.answer;
    out.heading("Uncertainty");
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
    out.paragraph(&text);
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
pub fn changes(content: &Content, out: &mut Document) {
    out.heading("What would change this");
    let changes = content.answer.changes(content.overturn);
    out.list(&changes.iter().map(|c| content.allowed(c)).collect::<Vec<_>>());
    // The reasons quote remarks.
    let disagreeing = content.answer.disagreeing();
    if !content.shared() && !disagreeing.is_empty() {
        out.heading("Which observations disagree, and why they may");
        out.list(&disagreeing);
    }
}

/// Cautions with figures.
pub fn cautions(content: &Content, out: &mut Document) {
    out.heading("Cautions");
    let why = |c: &Caution| {
        if content.shared() { c.text.to_string() } else { format!("{} [{}]", c.text, c.trigger) }
    };
    let mut told: Vec<String> = content.answer.cautions.iter().map(why).collect();
    told.push(ALWAYS.to_owned());
    out.list(&told);
}
