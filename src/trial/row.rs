//! Outcomes gathered into a table.

use crate::trial::{CONFIDENT, Class, Method, Outcome, Share};

/// One class and method.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The class.
    pub class: Class,
    /// The method.
    pub method: Method,
    /// Scenes.
    pub scenes: u32,
    /// How many have no 95 % region.
    pub refused: u32,
    /// Median miss, metres.
    pub median_m: Option<f64>,
    /// Root mean square miss over the bound, where there is one.
    pub over_bound: Option<f64>,
    /// How often the regions of 50, 90 and 95 % hold the emitter.
    pub held: [Share; 3],
    /// Median area of the 95 % region, hectares.
    pub area_ha: Option<f64>,
    /// How often one place holds nine tenths of the probability and the emitter lies outside of the 99 % region.
    pub wrong: Share,
}

/// A row for each class and method that occurs, in their order.
pub fn rows(outcomes: &[Outcome]) -> Vec<Row> {
    let mut out = Vec::new();
    for class in Class::ALL {
        for method in Method::ALL {
            let of = |o: &&Outcome| o.class == class.word() && o.method == method.word();
            let found: Vec<&Outcome> = outcomes.iter().filter(of).collect();
            if !found.is_empty() {
                out.push(row(class, method, &found));
            }
        }
    }
    out
}

fn row(class: Class, method: Method, found: &[&Outcome]) -> Row {
    let mut held = [Share::default(); 3];
    let mut wrong = Share::default();
    for outcome in found {
        for (share, held) in held.iter_mut().zip(outcome.held) {
            held.into_iter().for_each(|h| share.count(h));
        }
        let sure = outcome.share.is_some_and(|s| s > CONFIDENT);
        wrong.count(sure && outcome.held[3] == Some(false));
    }
    let squares: Vec<(f64, f64)> =
        found.iter().filter_map(|o| Some((o.miss_m?.powi(2), o.bound_m?.powi(2)))).collect();
    let sum = |f: fn(&(f64, f64)) -> f64| squares.iter().map(f).sum::<f64>();
    Row {
        class,
        method,
        scenes: found.len() as u32,
        refused: found.iter().filter(|o| o.held[2].is_none()).count() as u32,
        median_m: median(found.iter().filter_map(|o| o.miss_m)),
        over_bound: (!squares.is_empty()).then(|| (sum(|s| s.0) / sum(|s| s.1)).sqrt()),
        held,
        area_ha: median(found.iter().filter_map(|o| o.area_ha)),
        wrong,
    }
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// How often the 95 % regions of all classes together hold the emitter, as delivered.
pub fn overall(rows: &[Row]) -> Share {
    let delivered = rows.iter().filter(|r| r.method == Method::Delivered);
    delivered
        .fold(Share::default(), |sum, r| Share { hits: sum.hits + r.held[2].hits, of: sum.of + r.held[2].of })
}

/// The rows as a table of Markdown, which reads as plain text too.
pub fn table(rows: &[Row]) -> String {
    let mut cells: Vec<Vec<String>> = vec![
        [
            "class",
            "method",
            "scenes",
            "none",
            "median miss",
            "RMS / bound",
            "50 %",
            "90 %",
            "95 %",
            "interval",
            "area",
            "sure and wrong",
        ]
        .map(str::to_owned)
        .into(),
    ];
    cells.extend(rows.iter().map(line));
    let wide: Vec<usize> =
        (0..cells[0].len()).map(|i| cells.iter().map(|c| c[i].chars().count()).max().unwrap_or(0)).collect();
    let mut out = String::new();
    for (at, row) in cells.iter().enumerate() {
        let padded = row.iter().zip(&wide).enumerate().map(|(i, (c, w))| {
            let gap = " ".repeat(w - c.chars().count());
            if i < 2 { format!("{c}{gap}") } else { format!("{gap}{c}") }
        });
        out += &format!("| {} |\n", padded.collect::<Vec<_>>().join(" | "));
        if at == 0 {
            let rule = wide
                .iter()
                .enumerate()
                .map(|(i, w)| if i < 2 { "-".repeat(*w) } else { "-".repeat(w - 1) + ":" });
            out += &format!("| {} |\n", rule.collect::<Vec<_>>().join(" | "));
        }
    }
    out
}

fn line(row: &Row) -> Vec<String> {
    let percent = |s: Share| s.value().map_or("-".to_owned(), |v| format!("{:.1}", 100.0 * v));
    let interval =
        row.held[2].interval().map_or("-".to_owned(), |(a, b)| format!("{:.0}–{:.0}", 100.0 * a, 100.0 * b));
    let area = |a: f64| if a < 100.0 { format!("{a:.2} ha") } else { format!("{:.1} km²", a / 100.0) };
    vec![
        row.class.word().to_owned(),
        row.method.word().to_owned(),
        row.scenes.to_string(),
        row.refused.to_string(),
        row.median_m.map_or("-".to_owned(), |m| format!("{m:.0} m")),
        row.over_bound.map_or("-".to_owned(), |b| format!("{b:.2}")),
        percent(row.held[0]),
        percent(row.held[1]),
        percent(row.held[2]),
        interval,
        row.area_ha.map_or("-".to_owned(), area),
        percent(row.wrong),
    ]
}
