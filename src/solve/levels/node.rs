//! One correlation of the shadowing with what it makes of the cells, whatever the place.

use crate::solve::levels::{
    cells::Cell,
    kernel::{Kernel, Whitener},
};

/// A kernel, factored over the cells; the first `measured` of these carry a level, the others are below the floor.
#[derive(Clone, Debug)]
pub struct Node {
    /// The correlation.
    pub kernel: Kernel,
    /// Its inverse factor.
    pub whitener: Whitener,
    /// Whitened levels of the measured cells.
    pub levels: Vec<f64>,
    /// Their sum of squares.
    pub square: f64,
    /// Logarithm of the determinant of their correlation.
    pub log_determinant: f64,
    /// Whitened ones of the measured cells.
    pub ones: Vec<f64>,
    /// Of each cell below the floor: one less its neighbours' weights, and its measured neighbours' levels with their weights.
    pub given: Vec<(f64, f64)>,
    /// The scales of irregularity that are looked at with this kernel: which one, and where the search for the standard
    /// deviation of the shadowing begins (its logarithm, in dB).
    pub scales: Vec<(usize, f64)>,
}

impl Node {
    /// Factors `kernel` over the cells; `earlier` are the neighbours of each.
    pub fn new(
        cells: &[Cell],
        earlier: &[Vec<u32>],
        kernel: Kernel,
        measured: usize,
        scales: Vec<(usize, f64)>,
    ) -> Self {
        let whitener = Whitener::new(cells, earlier, kernel);
        let values: Vec<f64> = cells.iter().map(|c| c.level).collect();
        let levels = whitener.apply(&values, measured);
        let given = (measured..cells.len())
            .map(|i| {
                let rest: f64 = whitener.neighbours(i).map(|(_, w)| w).sum();
                let known = whitener.neighbours(i).filter(|(j, _)| *j < measured);
                (1.0 - rest, known.map(|(j, w)| w * values[j]).sum())
            })
            .collect();
        Self {
            kernel,
            square: levels.iter().map(|v| v * v).sum(),
            log_determinant: whitener.log_determinant(measured),
            ones: whitener.apply(&vec![1.0; cells.len()], measured),
            levels,
            given,
            whitener,
            scales,
        }
    }

    /// How many readings with shadowing of their own would tell as much about the mean level.
    pub fn effective(&self) -> f64 {
        self.ones.iter().map(|v| v * v).sum()
    }
}
