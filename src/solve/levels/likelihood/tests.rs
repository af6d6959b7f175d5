//! The likelihood by its definition: dense matrices, every kernel and standard deviation, nothing left out.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::*;
use crate::{
    numeric::random::Random,
    solve::levels::kernel::{Kernel, Whitener, earlier},
};

/// What the tests take for granted, whatever the program does.
const PRIORS: LevelPriors = LevelPriors {
    start: (-30.0, 30.0),
    exponent: (3.0, 0.5),
    pattern: [5.0, 2.0, 0.0, 0.0],
    bend: 1.5,
    irregular: [0.2, 0.6, 1.4],
    regular: 0.0,
    shadowing: (6.0, 0.35),
    decorrelation: [0.05, 0.15, 0.4, 1.0],
    own: [0.03, 0.15, 0.5],
    wide_share: [0.0, 0.5],
    wide: 2.0,
    trust: f64::INFINITY,
    device: 5.0,
    height: 4.0,
};

/// Few enough that every one is given all before it, so that the sparse factor of the covariance is the exact one.
const COUNT: usize = 10;

const PLACES: [(f64, f64); 5] = [(0.0, 0.0), (150.0, 90.0), (-400.0, 700.0), (299.0, 10.0), (170.0, 250.0)];

fn readings(seed: u64) -> Vec<Reading> {
    let mut random = Random::seeded(seed);
    let mut one = || {
        let at = PlanePoint { east: 300.0 * random.uniform(), north: 200.0 * random.uniform() };
        Reading { at, level: -80.0 + 8.0 * random.normal(), below: false, device: 0 }
    };
    (0..COUNT).map(|_| one()).collect()
}

/// (1 − ν) [(1 − ω) exp(−δ/D) + ω exp(−δ/D′)], as [`Kernel`] tells it.
fn correlation(kernel: &Kernel, a: &Cell, b: &Cell) -> f64 {
    let apart = (a.at.east - b.at.east).hypot(a.at.north - b.at.north);
    let (near, wide) = ((-apart / kernel.decorrelation).exp(), (-apart / kernel.wide).exp());
    (1.0 - kernel.own) * ((1.0 - kernel.wide_share) * near + kernel.wide_share * wide)
}

fn correlations(kernel: &Kernel, cells: &[Cell]) -> DMatrix<f64> {
    let entry = |i, j| if i == j { 1.0 } else { correlation(kernel, &cells[i], &cells[j]) };
    DMatrix::from_fn(cells.len(), cells.len(), entry)
}

/// Nodes for the standard deviation of the shadowing: one in fifty apart over four deviations of the prior to either side, a
/// Riemann sum whose error is far below the tolerances.
const NODES: i32 = 160;

/// Mean and covariance of the levels at a place with the unknowns integrated out, H μ and H V Hᵀ + σ² R, for every kernel,
/// scale of what is irregular, and standard deviation, each with its weight.
fn normals(levels: &Levels, place: PlanePoint, nodes: i32) -> Vec<(f64, DVector<f64>, DMatrix<f64>)> {
    let (cells, columns) = (levels.cells(), &levels.columns);
    let mut rows: Vec<[Lanes; MOST]> = Vec::new();
    columns.rows(cells, &([place.east; LANES], [place.north; LANES]), &mut rows);
    let h = DMatrix::from_fn(cells.len(), columns.count(), |i, j| rows[i][j][0]);
    // All but level and exponent is irregular: there is one receiver.
    let variance = |factor: f64| {
        let one = |(i, d): (usize, &f64)| if i < 2 { d * d } else { (factor * d).powi(2) };
        DVector::from_iterator(columns.count(), columns.deviation.iter().enumerate().map(one))
    };
    let mean = &h * DVector::from_column_slice(&columns.mean);
    let unknown = |factor| &h * DMatrix::from_diagonal(&variance(factor)) * h.transpose();
    let unknowns = PRIORS.irregular.map(unknown);
    let mut out = Vec::new();
    for kernel in PRIORS.kernels(extent(cells)) {
        let shadowing = correlations(&kernel, cells);
        for i in 0..=nodes {
            let t = 8.0 * f64::from(i) / f64::from(nodes) - 4.0;
            let weight = (-0.5 * t * t).exp();
            let variance = (PRIORS.shadowing.0 * (t * PRIORS.shadowing.1).exp()).powi(2);
            out.extend(unknowns.iter().map(|u| (weight, mean.clone(), u + variance * &shadowing)));
        }
    }
    out
}

/// Logarithm of a normal density without its powers of 2π.
fn log_density(values: &DVector<f64>, mean: &DVector<f64>, factor: &Cholesky<f64, nalgebra::Dyn>) -> f64 {
    let rest = values - mean;
    let log_root: f64 = factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum();
    -0.5 * rest.dot(&factor.solve(&rest)) - log_root
}

/// The greatest difference between what the program says of places relative to the first one, and what `exact` says.
fn worst(levels: &Levels, exact: impl Fn(&Levels, PlanePoint) -> f64) -> f64 {
    let at = |p: (f64, f64)| PlanePoint { east: p.0, north: p.1 };
    let off = |p: (f64, f64)| levels.log_likelihood(at(p)) - exact(levels, at(p));
    PLACES[1..].iter().map(|p| (off(*p) - off(PLACES[0])).abs()).fold(0.0, f64::max)
}

/// Tolerance: the logarithm of the standard deviation is integrated by a normal approximation, which ten readings determine to a
/// quarter; the terms that this leaves out are of the order of one in the number of readings, and differ little between places.
#[test]
fn the_marginal_is_that_of_the_dense_normal_density() {
    for seed in 11..15 {
        let levels = Levels::new(&readings(seed), &PRIORS);
        let values = DVector::from_iterator(COUNT, levels.cells().iter().map(|c| c.level));
        let off = worst(&levels, |levels, place| {
            let densities = normals(levels, place, NODES).into_iter().map(|(weight, mean, covariance)| {
                weight * log_density(&values, &mean, &Cholesky::new(covariance).unwrap()).exp()
            });
            densities.sum::<f64>().ln()
        });
        assert!(off < 0.05, "{seed}: {off}");
    }
}

/// One reading below the floor: the joint density is integrated over its level by Simpson's rule. Tolerance: besides that
/// of the test before, the unknowns are integrated by a normal approximation about their best values.
#[test]
fn a_reading_below_the_floor_counts_as_the_integral_over_its_level() {
    for (seed, floor) in [(21, -70.0), (22, -80.0), (23, -90.0), (24, -100.0)] {
        let mut read = readings(seed);
        read[4] = Reading { level: floor, below: true, ..read[4] };
        let levels = Levels::new(&read, &PRIORS);
        assert!(levels.cells()[COUNT - 1].below);
        let off = worst(&levels, |levels, place| {
            let mut values = DVector::from_iterator(COUNT, levels.cells().iter().map(|c| c.level));
            let mut total = 0.0;
            for (weight, mean, covariance) in normals(levels, place, NODES / 8) {
                let factor = Cholesky::new(covariance).unwrap();
                // Steps of half a decibel, where the narrowest density has a deviation of 1.2 dB; 120 dB below the floor
                // there is nothing left.
                for k in 0..=240 {
                    values[COUNT - 1] = floor - 0.5 * f64::from(k);
                    let simpson = if k == 0 || k == 240 { 1.0 } else { f64::from(2 + 2 * (k % 2)) } / 6.0;
                    total += weight * simpson * log_density(&values, &mean, &factor).exp();
                }
            }
            total.ln()
        });
        assert!(off < 0.08, "{seed}: {off}");
    }
}

/// Few cells have all earlier ones as neighbours: then the sparse factor is the exact one, and the sum of squares and the
/// determinant are those of the dense matrix.
#[test]
fn with_all_neighbours_the_factor_is_exact() {
    let cells = gather(&readings(7), MOST_CELLS);
    let kernel = Kernel { decorrelation: 40.0, own: 0.2, wide_share: 0.3, wide: 300.0 };
    let values: Vec<f64> = cells.iter().map(|c| c.level + 80.0).collect();
    let cholesky = Cholesky::new(correlations(&kernel, &cells)).unwrap();
    let whitener = Whitener::new(&cells, &earlier(&cells), kernel);
    let sum: f64 = whitener.apply(&values, COUNT).iter().map(|w| w * w).sum();
    let exact = DVector::from_vec(values);
    assert!((sum / exact.dot(&cholesky.solve(&exact)) - 1.0).abs() < 1e-12);
    let log_determinant: f64 = cholesky.l().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
    assert!((whitener.log_determinant(COUNT) - log_determinant).abs() < 1e-12);
}

#[test]
fn no_readings_say_nothing() {
    let levels = Levels::new(&[], &LevelPriors::default());
    assert_eq!(levels.log_likelihood(PlanePoint { east: 1.0, north: 2.0 }), 0.0);
}

/// Where all nodes say the same, none of them stands out, and yet some must stay.
#[test]
fn kernels_that_are_all_alike_are_not_all_left_out() {
    let priors = LevelPriors { own: [1.0; 3], pattern: [0.0; 4], bend: 0.0, ..PRIORS };
    let levels = Levels::new(&readings(31), &priors);
    assert!(!levels.nodes.is_empty());
    for place in PLACES {
        assert!(levels.log_likelihood(PlanePoint { east: place.0, north: place.1 }).is_finite(), "{place:?}");
    }
}

/// Along the curve every cell keeps the neighbours that it had, under their new names.
#[test]
fn the_curve_renames_cells_and_loses_none() {
    let cells = gather(&readings(8), MOST_CELLS);
    let near = earlier(&cells);
    let (laid, renamed) = gathered(cells.clone(), cells.len());
    let old = |cell: &Cell| cells.iter().position(|c| c == cell).unwrap();
    for (cell, names) in laid.iter().zip(&renamed) {
        let mut told: Vec<u32> = names.iter().map(|n| old(&laid[*n as usize]) as u32).collect();
        told.sort_unstable();
        assert_eq!(told, near[old(cell)]);
    }
}
