//! Rows as text and as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::{
    report,
    trial::{CONFIDENCES, Class, Method, Row, Share, VERSION, row::AT_95},
    units::{Metres, SquareMetres},
};

/// The table in plain text: coverage first, then misses, then what is outside of what is claimed. Times are left out: the
/// same seed prints the same text.
pub fn table(rows: &[Row], seed: u64) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = written(rows, seed, &mut out);
    out
}

/// In percent of scenes or regions, with the interval that chance leaves.
fn percent(share: Share) -> String {
    match (share.value(), share.interval()) {
        (Some(value), Some((low, high))) => {
            format!("{:.1} ({:.0}–{:.0})", 100.0 * value, 100.0 * low, 100.0 * high)
        }
        _ => "–".to_owned(),
    }
}

fn bare(share: Share) -> String {
    share.value().map_or("–".to_owned(), |v| format!("{:.1}", 100.0 * v))
}

fn written(rows: &[Row], seed: u64, out: &mut String) -> std::fmt::Result {
    writeln!(
        out,
        "azimark {VERSION}, seed {seed}. Regions that hold the emitter, in % of those given, and in brackets"
    )?;
    writeln!(
        out,
        "where the true share lies with 95 % (Wilson). Refused: % of scenes without a 95 % region. Wrong:"
    )?;
    writeln!(
        out,
        "% of scenes with one confident place (above 90 %) and the emitter outside the 99 % region.\n"
    )?;
    writeln!(
        out,
        "{:<14}{:<14}{:>6}  {:<16}{:<16}{:<16}{:>7}{:>7}",
        "class", "method", "scenes", "of 50 %", "of 90 %", "of 95 %", "refused", "wrong"
    )?;
    for r in rows {
        let [half, ninety, most, _] = r.held.map(percent);
        writeln!(
            out,
            "{:<14}{:<14}{:>6}  {half:<16}{ninety:<16}{most:<16}{:>7}{:>7}",
            named(r),
            r.method.word(),
            r.scenes,
            bare(r.refused),
            bare(r.wrong)
        )?;
    }
    misses(rows, out)?;
    verdict(rows, out)?;
    writeln!(out)?;
    for class in Class::ALL.iter().filter(|c| rows.iter().any(|r| r.class == **c)) {
        writeln!(out, "{:<14}{}", class.word(), class.told())?;
    }
    Ok(())
}

/// A class is named in its first row only.
fn named(row: &Row) -> &'static str {
    if row.method == Method::Posterior { row.class.word() } else { "" }
}

fn misses(rows: &[Row], out: &mut String) -> std::fmt::Result {
    writeln!(
        out,
        "\nHow far the place is off, of scenes with a 95 % region, and the median area of that region."
    )?;
    writeln!(
        out,
        "Bound: the least root mean square that any unbiased place could have (Cramér–Rao); over bound: root"
    )?;
    writeln!(out, "mean square of each scene's distance over its own bound.\n")?;
    writeln!(
        out,
        "{:<14}{:<14}{:>10}{:>18}{:>10}{:>12}{:>10}",
        "class", "method", "median", "root mean square", "bound", "over bound", "area"
    )?;
    let metres = |m: Option<f64>| m.map_or("–".to_owned(), |m| report::distance(Metres::new(m)));
    for r in rows {
        let ratio = r.over_bound.map(|o| format!("{o:.2}"));
        writeln!(
            out,
            "{:<14}{:<14}{:>10}{:>18}{:>10}{:>12}{:>10}",
            named(r),
            r.method.word(),
            metres(r.median),
            metres(r.root_mean_square),
            metres(r.bound),
            ratio.unwrap_or("–".to_owned()),
            r.area.map_or("–".to_owned(), |a| report::area(SquareMetres::new(a)))
        )?;
    }
    Ok(())
}

/// What is claimed: 95 ± 1.5 % of all regions, and no class below 92 %; of the posterior.
fn verdict(rows: &[Row], out: &mut String) -> std::fmt::Result {
    let own: Vec<&Row> = rows.iter().filter(|r| r.method == Method::Posterior).collect();
    let mut all = Share::default();
    for r in &own {
        all.hits += r.held[AT_95].hits;
        all.of += r.held[AT_95].of;
    }
    writeln!(out, "\nPosterior, 95 % regions of all classes together: {} %.", percent(all))?;
    let value = |r: &Row| r.held[AT_95].value();
    let mut list = |what: &str, which: &dyn Fn(&Row) -> bool| -> std::fmt::Result {
        let words: Vec<&str> = own.iter().filter(|r| which(r)).map(|r| r.class.word()).collect();
        writeln!(out, "{what}: {}.", if words.is_empty() { "none".to_owned() } else { words.join(", ") })
    };
    list("Classes that hold less than 92 %", &|r| value(r).is_some_and(|v| v < 0.92))?;
    list("Below that beyond chance (upper end of the bracket below 92 %)", &|r| {
        r.held[AT_95].interval().is_some_and(|(_, high)| high < 0.92)
    })?;
    list("Outside of 95 ± 1.5 %", &|r| value(r).is_some_and(|v| (v - 0.95).abs() > 0.015))
}

/// The rows as JSON, one object each; times are in it, and are all that differs from run to run.
pub fn json(rows: &[Row], seed: u64) -> String {
    let rows: Vec<Value> = rows.iter().map(object).collect();
    let whole = json!({"azimark": VERSION, "seed": seed, "rows": rows});
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn object(row: &Row) -> Value {
    let share = |s: Share| {
        let (low, high) = s.interval().unzip();
        json!({"hits": s.hits, "of": s.of, "share": s.value(), "low": low, "high": high})
    };
    let held: Vec<Value> =
        CONFIDENCES.iter().zip(row.held).map(|(c, s)| json!({"confidence": c, "held": share(s)})).collect();
    json!({
        "class": row.class.word(),
        "trouble": row.class.told(),
        "method": row.method.word(),
        "scenes": row.scenes,
        "regions": held,
        "refused": share(row.refused),
        "confident_and_wrong": share(row.wrong),
        "median_miss_m": row.median,
        "root_mean_square_miss_m": row.root_mean_square,
        "root_mean_square_over_bound": row.over_bound,
        "bound_m": row.bound,
        "median_area95_m2": row.area,
        "median_ms": row.ms,
    })
}
