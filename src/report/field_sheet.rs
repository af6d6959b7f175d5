//! A field-strength sheet in words.

use crate::{
    case::{BudgetLine, Comparison, Sheet},
    finding::{clipped, visible},
    report::{count, with_minus, wrapped},
};

/// The result in one line: `50.3 dBµV/m ± 2.4 dB (k = 2) at 10 m`.
pub fn field_headline(sheet: &Sheet) -> String {
    let u = match (sheet.expanded_db, sheet.k) {
        (Some(u), Some(k)) => format!(" ± {u:.1} dB (k = {})", factor(k)),
        _ => ", uncertainty not known".to_owned(),
    };
    let at = sheet.distance_m.map_or(", distance not stated".to_owned(), |d| format!(" at {}", metres(d)));
    let indicative = if sheet.indicative.is_empty() { "" } else { " – INDICATIVE" };
    with_minus(&format!("{:.1} dBµV/m{u}{at}{indicative}", sheet.field_dbuv_m))
}

/// Two where it is two.
fn factor(k: f64) -> String {
    if (k - 2.0).abs() < 0.005 { "2".to_owned() } else { format!("{k:.2}") }
}

fn metres(m: f64) -> String {
    // As many digits as people write.
    format!("{} m", (m * 1e3).round() / 1e3)
}

/// The statement of uncertainty in the manner of the guide, 7.2.4.
pub fn field_statement(sheet: &Sheet) -> String {
    let (Some(u), Some(k), Some(standard)) = (sheet.expanded_db, sheet.k, sheet.standard_db) else {
        return "No uncertainty is stated for any input, so that none can be stated for the result."
            .to_owned();
    };
    let how = match sheet.freedom {
        Some(n) if (k - 2.0).abs() < 0.005 => format!("({:.0} effective degrees of freedom)", n.floor()),
        Some(n) => format!("from the t-distribution for {:.0} effective degrees of freedom", n.floor()),
        None => "from the normal distribution".to_owned(),
    };
    with_minus(&format!(
        "E = ({:.2} ± {u:.2}) dBµV/m, where the number behind ± is the expanded uncertainty U = k u, with the combined standard uncertainty \
         u = {standard:.2} dB and a coverage factor k = {} {how}, for a level of confidence of about 95 %. Inputs are taken for independent.",
        sheet.field_dbuv_m,
        factor(k)
    ))
}

/// What was measured and how, name by name; "not stated" where nothing was.
pub fn field_facts(sheet: &Sheet) -> Vec<(&'static str, String)> {
    let none = || "not stated".to_owned();
    let said = |text: &Option<String>| text.as_ref().map_or_else(none, |t| visible(t));
    let antenna = match (sheet.antenna_factor_db_m, sheet.gain_dbi) {
        (Some(f), Some(g)) => format!("factor {f:.2} dB/m, computed from a gain of {g} dBi across 50 Ω"),
        (Some(f), None) => format!("factor {f:.2} dB/m"),
        (None, _) => "in the readings, which are field strengths already".to_owned(),
    };
    let times = match (&sheet.first, &sheet.last) {
        (Some(a), Some(b)) if a == b => a.clone(),
        (Some(a), Some(b)) => format!("{a} to {b}"),
        _ => none(),
    };
    let n = sheet.readings_dbuv_m.len();
    let readings = if n == 1 { "1".to_owned() } else { format!("{n}, averaged in {}", sheet.averaged) };
    let all = vec![
        ("Frequency", format!("{} MHz", sheet.frequency_hz / 1e6)),
        ("Distance to the emitting antenna", sheet.distance_m.map_or_else(none, metres)),
        ("Height of the measuring antenna", sheet.height_m.map_or_else(none, metres)),
        ("Detector", said(&sheet.detector)),
        ("Resolution bandwidth", sheet.rbw_hz.map_or_else(none, |b| format!("{} kHz", b / 1e3))),
        ("Polarisation", said(&sheet.polarisation)),
        ("Antenna", antenna),
        ("Certificate of its calibration", said(&sheet.certificate)),
        ("Calibrated on", said(&sheet.calibrated)),
        ("Readings", readings),
        ("Time", times),
        ("Site", said(&sheet.site)),
    ];
    all.into_iter().map(|(name, what)| (name, with_minus(&what))).collect()
}

/// A comparison in a sentence.
pub fn field_comparison(c: &Comparison) -> String {
    let source = c.source.as_ref().map_or("source not stated".to_owned(), |s| clipped(s));
    let at = c.distance_m.map_or(String::new(), |d| format!(" at {}", metres(d)));
    let above = c.above.map_or(String::new(), |p| {
        let shown = match p {
            p if p > 0.999 => "more than 99.9 %".to_owned(),
            p if p < 0.001 => "less than 0.1 %".to_owned(),
            p => format!("{:.1} %", 100.0 * p),
        };
        format!(
            " By the measurement alone the true field lies above the limit with a probability of {shown}."
        )
    });
    with_minus(&format!(
        "{} Limit {} dBµV/m{at} ({source}); compared {:.1} dBµV/m. Decision rule: {}.{above}",
        c.decision, c.limit_dbuv_m, c.field_dbuv_m, c.rule
    ))
}

/// The sheet as text.
pub fn field_sheet(sheet: &Sheet) -> String {
    let mut out = String::new();
    let banner = indicative(sheet);
    if let Some(banner) = &banner {
        out += &wrapped(banner, "", "  ");
    }
    out += &wrapped(&format!("Field strength {}", field_headline(sheet)), "", "  ");
    if let Some(c) = &sheet.comparison {
        out += &wrapped(&field_comparison(c), "", "  ");
    }
    for warning in &sheet.warnings {
        out += &wrapped(&format!("Caution: {warning}"), "", "  ");
    }
    out.push('\n');
    for (name, what) in field_facts(sheet) {
        out += &wrapped(&format!("{name}: {what}"), "  ", "    ");
    }
    if let Some(e) = &sheet.elsewhere {
        let told = format!(
            "At {}, nobody measured: {:.1} dBµV/m if {}. U does not hold what that assumption may be wrong by.",
            metres(e.distance_m),
            e.field_dbuv_m,
            e.assumption
        );
        out += &wrapped(&with_minus(&told), "  ", "    ");
    }
    if sheet.readings_dbuv_m.len() > 1 {
        let shown: Vec<String> = sheet.readings_dbuv_m.iter().take(20).map(|r| format!("{r:.1}")).collect();
        let more = if sheet.readings_dbuv_m.len() > 20 { ", …" } else { "" };
        out +=
            &wrapped(&with_minus(&format!("Each reading: {}{more} dBµV/m", shown.join(", "))), "  ", "    ");
    }
    out += &budget(sheet);
    out += &wrapped(&field_statement(sheet), "", "  ");
    out.extend(banner.map(|b| wrapped(&b, "\n", "  ")));
    out
}

fn indicative(sheet: &Sheet) -> Option<String> {
    (!sheet.indicative.is_empty())
        .then(|| format!("*** INDICATIVE, no calibrated measurement: {} ***", sheet.indicative.join("; ")))
}

fn budget(sheet: &Sheet) -> String {
    let mut out = String::new();
    if !sheet.budget.is_empty() {
        out += "\nUncertainty budget (dB)\n";
        out += &format!(
            "  {:<22} {:>15} type {:<12} {:>6} {:>7} {:>2} {:>6} {:>5}\n",
            "input", "estimate", "distribution", "stated", "divisor", "c", "u", "ν"
        );
        sheet.budget.iter().for_each(|line| out += &row(line));
        if let Some(u) = sheet.standard_db {
            let n = sheet.freedom.map_or("∞".to_owned(), |n| format!("{:.0}", n.floor()));
            out += &format!("  {:<69} {u:>6.2} {n:>5}\n", "combined");
        }
    }
    if !sheet.missing.is_empty() {
        out += &wrapped(&field_missing(sheet), "  ", "    ");
    }
    out.push('\n');
    out
}

/// The inputs of which nothing is stated, and what that means.
pub fn field_missing(sheet: &Sheet) -> String {
    let means = if sheet.standard_db.is_some() { " U is too small by what these add." } else { "" };
    format!(
        "Not in the budget, because nothing is stated of {}: {}.{means}",
        count(sheet.missing.len(), "input", "inputs"),
        sheet.missing.join(", ")
    )
}

fn row(line: &BudgetLine) -> String {
    let name: String = clipped(&line.input).chars().take(22).collect();
    let freedom = line.freedom.map_or("∞".to_owned(), |n| format!("{n:.0}"));
    format!(
        "  {name:<22} {:>15}    {} {:<12} {:>6.2} {:>7.2} {:>2} {:>6.2} {freedom:>5}\n",
        with_minus(&line.estimate),
        line.evaluation,
        line.distribution,
        line.stated_db,
        line.divisor,
        line.sensitivity,
        line.contribution_db
    )
}
