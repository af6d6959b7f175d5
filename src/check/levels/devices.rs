//! Whether several receivers show the same where they stood at the same place.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    check::levels::{Label, Labels},
    finding::Finding,
    geodesy::Plane,
    observe::LevelReading,
};

/// Readings within one such square were taken at one place.
const CELL_M: f64 = 10.0;

/// At fewer common places nothing is said of a difference.
const FEWEST: usize = 5;

/// So many differences are written out.
const MOST_TOLD: usize = 5;

/// Less than this is within what receivers are off anyhow: common practice, no source.
const SMALL_DB: f64 = 1.0;

type Cells = BTreeMap<(i64, i64), (f64, f64)>;

/// Tells by how much receivers differ from the one with most readings, as the mean over common places with its standard
/// deviation, and which were never at one place with it.
pub fn tell(readings: &[LevelReading], labels: &[Labels]) -> Vec<Finding> {
    let used: Vec<usize> = (0..readings.len())
        .filter(|i| readings[*i].level.measured().is_some() && readings[*i].at.is_some())
        .filter(|i| !labels[*i].iter().any(Label::leaves_out))
        .collect();
    let Some(first) = used.first().map(|i| readings[*i].written.origin()) else { return Vec::new() };
    let mut by_device: BTreeMap<&Arc<str>, Vec<usize>> = BTreeMap::new();
    for index in &used {
        if let Some(device) = &readings[*index].device {
            by_device.entry(device).or_default().push(*index);
        }
    }
    let Some((most, _)) = by_device.iter().max_by_key(|(_, rows)| rows.len()) else {
        let message = "no receiver is named: the readings of each file are taken to be of one";
        let hint = "where several took part, name them in a column device";
        return vec![Finding::assumed("receiver-unnamed", message).at(first).hint(hint)];
    };
    let most: Arc<str> = (*most).clone();
    if by_device.len() < 2 {
        return Vec::new();
    }
    let places: Vec<_> = used.iter().filter_map(|i| readings[*i].at).collect();
    let Some(plane) = Plane::centred_on(&places) else { return Vec::new() };
    let cells: BTreeMap<&Arc<str>, Cells> =
        by_device.iter().map(|(device, rows)| (*device, cells(readings, rows, &plane))).collect();
    let mut differ: Vec<(f64, String)> = Vec::new();
    let mut apart: Vec<&str> = Vec::new();
    for (device, own) in cells.iter().filter(|(device, _)| ***device != most) {
        match difference(own, &cells[&most]) {
            None => apart.push(device),
            Some((mean, sigma, count)) if mean.abs() > SMALL_DB.max(3.0 * sigma) => {
                let text =
                    format!("{device} by {mean:+.1} dB (one standard deviation {sigma:.1}, {count} places)");
                differ.push((mean.abs(), text));
            }
            Some(_) => {}
        }
    }
    tell_both(&most, differ, &apart).into_iter().map(|f| f.at(first.clone())).collect()
}

fn tell_both(most: &str, mut differ: Vec<(f64, String)>, apart: &[&str]) -> Vec<Finding> {
    let mut out = Vec::new();
    differ.sort_by(|a, b| b.0.total_cmp(&a.0));
    let more = |count: usize| {
        if count > MOST_TOLD { format!(", and {} more", count - MOST_TOLD) } else { String::new() }
    };
    if !differ.is_empty() {
        let texts: Vec<&str> = differ.iter().take(MOST_TOLD).map(|d| d.1.as_str()).collect();
        let message = format!(
            "at common places receivers differ from {most}: {}{}",
            texts.join("; "),
            more(differ.len())
        );
        let hint = "a fit allows each receiver an offset of its own; compare them at one place, side by side";
        out.push(Finding::doubtful("receivers-differ", message).hint(hint));
    }
    if !apart.is_empty() {
        let names: Vec<&str> = apart.iter().take(MOST_TOLD).copied().collect();
        let message = format!(
            "receivers with fewer than {FEWEST} places in common with {most}: {}{}; nothing tells whether they read alike",
            names.join(", "),
            more(apart.len())
        );
        let hint = "hold the receivers side by side for a minute and log it";
        out.push(Finding::assumed("receivers-apart", message).hint(hint));
    }
    out
}

/// Sum and number of levels in each square.
fn cells(readings: &[LevelReading], rows: &[usize], plane: &Plane) -> Cells {
    let mut out = Cells::new();
    for reading in rows.iter().map(|i| &readings[*i]) {
        let (Some(at), Some(level)) = (reading.at, reading.level.measured()) else { continue };
        let point = plane.to_plane(at);
        let key = ((point.east / CELL_M).floor() as i64, (point.north / CELL_M).floor() as i64);
        let (sum, count) = out.entry(key).or_default();
        *sum += level.value();
        *count += 1.0;
    }
    out
}

/// Mean difference over common squares, its standard deviation, and their number.
fn difference(own: &Cells, other: &Cells) -> Option<(f64, f64, usize)> {
    let apart: Vec<f64> = own
        .iter()
        .filter_map(|(key, (sum, count))| {
            let (theirs, of) = other.get(key)?;
            Some(sum / count - theirs / of)
        })
        .collect();
    let n = apart.len() as f64;
    let mean = apart.iter().sum::<f64>() / n;
    let variance = apart.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (apart.len() >= FEWEST).then(|| (mean, (variance / n).sqrt(), apart.len()))
}
