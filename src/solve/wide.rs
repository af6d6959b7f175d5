//! Eight numbers side by side as the processor's own vectors: loops over unknowns, nodes or bearings as well as over places are
//! compiled to gathers and single numbers where the compiler is left to choose.
//!
//! Product and sum are always rounded apart, so that every processor gives the same bits. No closures around these: they would be
//! compiled for the narrowest vectors.

use std::ops::{Add, Div, Mul, Sub};

use pulp::{Scalar, Simd, bytemuck};

use crate::solve::density::{LANES, Lanes};

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

/// Adds a row times a number to sums, column by column from `first` on.
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

/// One vector of the processor, with the arithmetic of numbers.
#[derive(Clone, Copy, Debug)]
pub struct Wide<S: Simd> {
    simd: S,
    value: S::f64s,
}

impl<S: Simd> Wide<S> {
    /// The same number in every place.
    #[inline(always)]
    pub fn splat(simd: S, value: f64) -> Self {
        Self { simd, value: simd.splat_f64s(value) }
    }

    /// One of the vectors that eight numbers fill.
    #[inline(always)]
    pub fn of(simd: S, lanes: &Lanes, index: usize) -> Self {
        Self { simd, value: part::<S>(lanes, index) }
    }

    /// Puts it among eight numbers.
    #[inline(always)]
    pub fn put(self, lanes: &mut Lanes, index: usize) {
        put::<S>(lanes, index, self.value);
    }

    /// The same number in every place, of the same kind.
    #[inline(always)]
    pub fn same(self, value: f64) -> Self {
        Self::splat(self.simd, value)
    }

    /// 1/x.
    #[inline(always)]
    pub fn inverse(self) -> Self {
        self.same(1.0) / self
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        Self { value: self.simd.sqrt_f64s(self.value), ..self }
    }

    /// Absolute value: by a comparison, for what the processor's own operation is made of is not always compiled into it.
    #[inline(always)]
    pub fn abs(self) -> Self {
        self.max(self * -1.0)
    }

    /// The greater of two.
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        Self { value: self.simd.max_f64s(self.value, other.value), ..self }
    }

    /// `yes` where this is at least `least`, `no` elsewhere.
    #[inline(always)]
    pub fn at_least(self, least: Self, yes: Self, no: Self) -> Self {
        let simd = self.simd;
        let mask = simd.greater_than_or_equal_f64s(self.value, least.value);
        Self { value: simd.select_f64s(mask, yes.value, no.value), ..self }
    }

    /// Whether every one of them is at least `least`.
    #[inline(always)]
    pub fn all_at_least(self, least: f64) -> bool {
        let mut all = true;
        for value in self.values() {
            all &= *value >= least;
        }
        all
    }

    /// The numbers one by one.
    #[inline(always)]
    pub fn values(&self) -> &[f64] {
        bytemuck::cast_slice(std::slice::from_ref(&self.value))
    }

    /// 2ⁿ of numbers that are whole ones n, at least −1022 and at most 1023, plus 1.5·2⁵²: then the lowest bits are those of n.
    #[inline(always)]
    pub fn power_of_two(self) -> Self {
        let mut bits = self.simd.transmute_u64s_f64s(self.value);
        for b in bytemuck::cast_slice_mut::<S::u64s, u64>(std::slice::from_mut(&mut bits)) {
            *b = b.wrapping_add(1023) << 52;
        }
        Self { value: self.simd.transmute_f64s_u64s(bits), ..self }
    }
}

impl Wide<Scalar> {
    /// A number by itself.
    #[inline(always)]
    pub fn one(value: f64) -> Self {
        Self::splat(Scalar::new(), value)
    }

    /// That number.
    #[inline(always)]
    pub const fn number(self) -> f64 {
        self.value
    }
}

impl<S: Simd> Add for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self { value: self.simd.add_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Sub for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self { value: self.simd.sub_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Mul for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self { value: self.simd.mul_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Div for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn div(self, other: Self) -> Self {
        Self { value: self.simd.div_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Add<f64> for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn add(self, other: f64) -> Self {
        self + self.same(other)
    }
}

impl<S: Simd> Sub<f64> for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn sub(self, other: f64) -> Self {
        self - self.same(other)
    }
}

impl<S: Simd> Mul<f64> for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, other: f64) -> Self {
        self * self.same(other)
    }
}
