//! Rows as text and as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::trial::{
    VERSION,
    hunt::{BEARING_MINUTES, MET_WITHIN, MOST_MINUTES, PACE, Quantile, Ratio, Row, Way},
};

/// The table in plain text.
pub fn table(rows: &[Row], seed: u64) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = written(rows, seed, &mut out);
    out
}

fn written(rows: &[Row], seed: u64, out: &mut String) -> std::fmt::Result {
    writeln!(
        out,
        "azimark {VERSION}, seed {seed}. Minutes until a walker who begins at the edge stands within {:.0} m of the",
        MET_WITHIN.value()
    )?;
    writeln!(
        out,
        "emitter: {:.0} km/h, {BEARING_MINUTES:.0} minutes a bearing, given up after {MOST_MINUTES:.0} minutes; in brackets where the true \
         figure\nlies with 95 % (bootstrap over scenes).\n",
        PACE * 0.06
    )?;
    writeln!(
        out,
        "{:<8}{:<14}{:>6}  {:<18}{:<20}{:>15}{:>10}{:>8}",
        "kind", "way", "scenes", "median", "90 of 100 below", "never found", "bearings", "walked"
    )?;
    for r in rows {
        let kind = if r.way == Way::Planned { r.kind.word() } else { "" };
        let never = 100.0 * r.never.value().unwrap_or(0.0);
        let high = 100.0 * r.never.interval().map_or(0.0, |i| i.1);
        writeln!(
            out,
            "{kind:<8}{:<14}{:>6}  {:<18}{:<20}{:>15}{:>10.1}{:>8}",
            r.way.word(),
            r.scenes,
            minutes(&r.median),
            minutes(&r.ninety),
            format!("{never:.1} % (≤{high:.0})"),
            r.bearings,
            format!("{:.0} m", r.metres)
        )?;
    }
    writeln!(out)?;
    for r in rows {
        let Some([median, ninety, truth]) = &r.ratios else { continue };
        writeln!(
            out,
            "{}: planned takes {} of the minutes of {} (median), {} of {} (90 of 100), {} of truth (median)",
            r.kind.word(),
            times(median),
            median.to.word(),
            times(ninety),
            ninety.to.word(),
            times(truth)
        )?;
    }
    writeln!(out)?;
    for way in Way::ALL {
        writeln!(out, "{:<14}{}", way.word(), way.told())?;
    }
    Ok(())
}

fn minutes(q: &Quantile) -> String {
    let figure =
        |v: f64| if v >= MOST_MINUTES { format!("over {MOST_MINUTES:.0}") } else { format!("{v:.1}") };
    format!("{} ({:.1}–{:.1})", figure(q.value), q.low, q.high)
}

fn times(r: &Ratio) -> String {
    format!("{:.2} ({:.2}–{:.2})", r.value.value, r.value.low, r.value.high)
}

/// The rows as JSON, one object each.
pub fn json(rows: &[Row], seed: u64) -> String {
    let rows: Vec<Value> = rows.iter().map(object).collect();
    let whole = json!({
        "azimark": VERSION,
        "seed": seed,
        "met_within_m": MET_WITHIN.value(),
        "pace_m_per_minute": PACE,
        "bearing_minutes": BEARING_MINUTES,
        "given_up_after_minutes": MOST_MINUTES,
        "rows": rows,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn object(row: &Row) -> Value {
    let quantile = |q: &Quantile| json!({"value": q.value, "low": q.low, "high": q.high});
    let (low, high) = row.never.interval().unzip();
    let ratio = |r: &Ratio| json!({"to": r.to.word(), "ratio": quantile(&r.value)});
    json!({
        "kind": row.kind.word(),
        "way": row.way.word(),
        "told": row.way.told(),
        "scenes": row.scenes,
        "median_minutes": quantile(&row.median),
        "minutes_90": quantile(&row.ninety),
        "never_found": {"hits": row.never.hits, "of": row.never.of, "share": row.never.value(), "low": low, "high": high},
        "mean_bearings": row.bearings,
        "median_metres": row.metres,
        "median_over_best": row.ratios.as_ref().map(|r| ratio(&r[0])),
        "minutes_90_over_best": row.ratios.as_ref().map(|r| ratio(&r[1])),
        "median_over_truth": row.ratios.as_ref().map(|r| ratio(&r[2])),
        "minutes": row.minutes,
    })
}
