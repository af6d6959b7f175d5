//! Outcomes of a class and a method as one row.

use crate::trial::{CONFIDENCES, Class, Found, Method, Outcome, Share};

/// A row of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The class.
    pub class: Class,
    /// The method.
    pub method: Method,
    /// Scenes tried.
    pub scenes: u32,
    /// Of these, those without a region of 95 %.
    pub refused: Share,
    /// For each of [`CONFIDENCES`], regions that hold the emitter, of those that were given.
    pub held: [Share; 4],
    /// Scenes with one confident place whose 99 % region does not hold the emitter.
    pub wrong: Share,
    /// Median of the distance of the place, metres, of scenes with a region of 95 %, like all that follows.
    pub median: Option<f64>,
    /// Root mean square of that distance.
    pub root_mean_square: Option<f64>,
    /// Root mean square of the bound of the same scenes, where the class has one.
    pub bound: Option<f64>,
    /// Root mean square of the distance over the bound of its own scene: 1 where the method uses all that there is, up to
    /// 1/(2√n) of chance with n scenes. Unlike the ratio of the two before it, a few scenes that determine little do not rule it.
    pub over_bound: Option<f64>,
    /// Median area of the 95 % region, square metres.
    pub area: Option<f64>,
    /// Median time of a scene, milliseconds.
    pub ms: Option<f64>,
}

/// Where the region of 95 % is in [`CONFIDENCES`], and that of 99 %.
pub(super) const AT_95: usize = 2;
const AT_99: usize = 3;

/// One row for each class and method of which there are outcomes, in the order of tables, whatever the order of outcomes.
pub fn rows(outcomes: &[Outcome]) -> Vec<Row> {
    let mut out = Vec::new();
    for class in Class::ALL {
        let mut own: Vec<&Outcome> = outcomes.iter().filter(|o| o.task.class == class).collect();
        own.sort_by_key(|o| o.task);
        if own.is_empty() {
            continue;
        }
        for method in class.methods() {
            let found: Vec<(&Found, Option<f64>)> = own
                .iter()
                .filter_map(|o| o.found.iter().find(|f| f.method == *method).map(|f| (f, o.bound)))
                .collect();
            out.push(row(class, *method, &found));
        }
    }
    out
}

fn row(class: Class, method: Method, found: &[(&Found, Option<f64>)]) -> Row {
    let (mut refused, mut wrong, mut held) = (Share::default(), Share::default(), [Share::default(); 4]);
    let (mut misses, mut bounds, mut areas) = (Vec::new(), Vec::new(), Vec::new());
    let mut over = Vec::new();
    for (f, bound) in found {
        for (share, region) in held.iter_mut().zip(f.regions) {
            if let Some((hit, _)) = region {
                share.count(hit);
            }
        }
        refused.count(f.regions[AT_95].is_none());
        wrong.count(f.confident && f.regions[AT_99].is_some_and(|(hit, _)| !hit));
        if let (Some((_, area)), Some(miss)) = (f.regions[AT_95], f.miss) {
            misses.push(miss);
            areas.push(area);
            bounds.extend(*bound);
            over.extend(bound.map(|b| miss / b));
        }
    }
    let complete = bounds.len() == misses.len();
    Row {
        class,
        method,
        scenes: found.len() as u32,
        refused,
        held,
        wrong,
        root_mean_square: root_mean_square(&misses),
        bound: root_mean_square(&bounds).filter(|_| complete),
        over_bound: root_mean_square(&over).filter(|_| complete),
        median: median(misses),
        area: median(areas),
        ms: median(found.iter().map(|(f, _)| f.ms).collect()),
    }
}

/// The middle value; the mean of the middle two of an even number.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let (low, high) = (values.get(values.len().checked_sub(1)? / 2)?, values.get(values.len() / 2)?);
    Some(0.5 * (low + high))
}

fn root_mean_square(values: &[f64]) -> Option<f64> {
    let sum: f64 = values.iter().map(|v| v * v).sum();
    (!values.is_empty()).then(|| (sum / values.len() as f64).sqrt())
}

impl Row {
    /// The shares held with the confidences that were stated, 99 % left out.
    pub fn stated(&self) -> impl Iterator<Item = (f64, Share)> + '_ {
        CONFIDENCES.into_iter().zip(self.held).take(AT_99)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Task;

    #[test]
    fn a_row_counts_what_there_is() {
        let found = |miss, held: bool, confident| Found {
            method: Method::Posterior,
            miss: Some(miss),
            confident,
            regions: [Some((false, 1.0)), Some((held, 2.0)), Some((held, miss)), Some((held, 4.0))],
            ms: miss,
        };
        let refused = Found { regions: [Some((true, 1.0)), None, None, None], ..found(900.0, true, true) };
        let all = [found(3.0, true, true), found(4.0, false, true), found(5.0, false, false), refused];
        let outcomes: Vec<Outcome> = all
            .into_iter()
            .zip(0..)
            .map(|(f, number)| Outcome {
                task: Task { class: Class::Clean, number },
                bound: Some(2.0),
                found: vec![f],
            })
            .collect();
        let row = &rows(&outcomes)[0];
        assert_eq!(row.held.map(|s| (s.hits, s.of)), [(1, 4), (1, 3), (1, 3), (1, 3)]);
        assert_eq!((row.refused, row.wrong), (Share { hits: 1, of: 4 }, Share { hits: 1, of: 4 }));
        assert_eq!((row.median, row.area, row.ms), (Some(4.0), Some(4.0), Some(4.5)));
        assert_eq!((row.root_mean_square, row.bound), (Some((50f64 / 3.0).sqrt()), Some(2.0)));
        assert_eq!(row.over_bound, Some((50f64 / 12.0).sqrt()));
        assert!(rows(&[]).is_empty());
    }
}
