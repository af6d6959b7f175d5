//! Eight numbers side by side as the processor's own vectors: loops over unknowns as well as over places are compiled to gathers
//! and single numbers where the compiler is left to choose.

use pulp::Simd;

use crate::solve::{density::LANES, levels::packed::Lanes};

/// How many vectors eight numbers fill.
#[inline(always)]
pub const fn parts<S: Simd>() -> usize {
    LANES / S::F64_LANES
}

/// One of the vectors.
#[inline(always)]
pub fn part<S: Simd>(lanes: &Lanes, index: usize) -> S::f64s {
    S::as_simd_f64s(lanes).0[index]
}

/// Puts one of the vectors back.
#[inline(always)]
pub fn put<S: Simd>(lanes: &mut Lanes, index: usize, value: S::f64s) {
    S::as_mut_simd_f64s(lanes).0[index] = value;
}

/// Adds a row times a number to sums, column by column from `first` on. Product and sum are rounded apart, so that every processor
/// gives the same bits.
#[inline(always)]
pub fn add_row<S: Simd, const N: usize>(
    simd: S,
    sums: &mut [S::f64s; N],
    row: &[Lanes; N],
    weight: f64,
    index: usize,
    first: usize,
) {
    let weight = simd.splat_f64s(weight);
    for c in first..N {
        sums[c] = simd.add_f64s(sums[c], simd.mul_f64s(weight, part::<S>(&row[c], index)));
    }
}
