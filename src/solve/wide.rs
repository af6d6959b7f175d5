//! Eight numbers side by side as the processor's own vectors: loops over unknowns, nodes or bearings as well as over places are
//! compiled to gathers and single numbers where the compiler is left to choose.
//!
//! Product and sum are always rounded apart, so that every processor gives the same bits. No closures around these: they would be
//! compiled for the narrowest vectors.

use std::ops::{Add, Div, Mul, Sub};

use pulp::Simd;

use crate::solve::density::{LANES, Lanes};

/// Runs an operation with the widest vectors that the processor has.
#[cfg(not(all(target_arch = "wasm32", target_feature = "simd128")))]
#[inline(always)]
pub fn widest<Op: pulp::WithSimd>(operation: Op) -> Op::Output {
    pulp::Arch::new().dispatch(operation)
}

/// The same in a page, which is compiled for its vectors: the way without them would make the module larger, and never be taken.
#[cfg(all(target_arch = "wasm32", target_feature = "simd128"))]
#[inline(always)]
pub fn widest<Op: pulp::WithSimd>(operation: Op) -> Op::Output {
    match pulp::wasm::Simd128::try_new() {
        Some(simd) => pulp::Simd::vectorize(simd, operation),
        None => unreachable!("the module was compiled for these vectors"),
    }
}

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

/// A number, or several side by side: formulas are written once for both.
pub trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// The same number in every place.
    fn same(self, value: f64) -> Self;

    /// The numbers.
    fn numbers(&self) -> &[f64];

    /// Square root.
    fn sqrt(self) -> Self;

    /// `yes` where this is at least `least`, `no` elsewhere.
    fn at_least(self, least: Self, yes: Self, no: Self) -> Self;

    /// 2ⁿ of numbers that are whole ones n, at least −1022 and at most 1023, plus 1.5·2⁵²: then the lowest bits are those of n.
    fn power_of_two(self) -> Self;

    /// Three numbers from each pair of two.
    fn paired(self, other: Self, of: impl Fn(f64, f64) -> [f64; 3]) -> [Self; 3];

    /// 1/x.
    #[inline(always)]
    fn inverse(self) -> Self {
        self.same(1.0) / self
    }

    /// The greater of two.
    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        self.at_least(other, self, other)
    }

    /// Absolute value: by a comparison, for what the processor's own operation is made of is not always compiled into it.
    #[inline(always)]
    fn magnitude(self) -> Self {
        self.greater(self * -1.0)
    }

    /// Whether every one of them is at least `least`.
    #[inline(always)]
    fn all_at_least(self, least: f64) -> bool {
        let mut all = true;
        for number in self.numbers() {
            all &= *number >= least;
        }
        all
    }
}

impl Real for f64 {
    #[inline(always)]
    fn same(self, value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn numbers(&self) -> &[f64] {
        std::slice::from_ref(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        self.sqrt()
    }

    #[inline(always)]
    fn at_least(self, least: Self, yes: Self, no: Self) -> Self {
        if self >= least { yes } else { no }
    }

    #[inline(always)]
    fn power_of_two(self) -> Self {
        Self::from_bits(self.to_bits().wrapping_add(1023) << 52)
    }

    #[inline(always)]
    fn paired(self, other: Self, of: impl Fn(f64, f64) -> [f64; 3]) -> [Self; 3] {
        of(self, other)
    }
}

/// Eight numbers in the processor's vectors.
#[derive(Clone, Copy, Debug)]
pub struct Wide<S: Simd> {
    simd: S,
    lanes: Lanes,
}

/// What two of them give, vector by vector.
macro_rules! each {
    ($a:expr, $b:expr, $operation:ident) => {{
        let mut out = $a;
        for index in 0..parts::<S>() {
            let (a, b) = (part::<S>(&$a.lanes, index), part::<S>(&$b.lanes, index));
            put::<S>(&mut out.lanes, index, $a.simd.$operation(a, b));
        }
        out
    }};
}

impl<S: Simd> Wide<S> {
    /// These numbers.
    #[inline(always)]
    pub const fn of(simd: S, lanes: Lanes) -> Self {
        Self { simd, lanes }
    }

    /// The same number in every place.
    #[inline(always)]
    pub fn splat(simd: S, value: f64) -> Self {
        let mut lanes = [0.0; LANES];
        for index in 0..parts::<S>() {
            put::<S>(&mut lanes, index, simd.splat_f64s(value));
        }
        Self { simd, lanes }
    }

    /// The numbers.
    #[inline(always)]
    pub const fn lanes(self) -> Lanes {
        self.lanes
    }
}

impl<S: Simd> Real for Wide<S> {
    #[inline(always)]
    fn same(self, value: f64) -> Self {
        Self::splat(self.simd, value)
    }

    #[inline(always)]
    fn numbers(&self) -> &[f64] {
        &self.lanes
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        let mut out = self;
        for index in 0..parts::<S>() {
            let value = self.simd.sqrt_f64s(part::<S>(&self.lanes, index));
            put::<S>(&mut out.lanes, index, value);
        }
        out
    }

    #[inline(always)]
    fn at_least(self, least: Self, yes: Self, no: Self) -> Self {
        let simd = self.simd;
        let mut out = no;
        for index in 0..parts::<S>() {
            let (here, least) = (part::<S>(&self.lanes, index), part::<S>(&least.lanes, index));
            let (yes, no) = (part::<S>(&yes.lanes, index), part::<S>(&no.lanes, index));
            let mask = simd.greater_than_or_equal_f64s(here, least);
            put::<S>(&mut out.lanes, index, simd.select_f64s(mask, yes, no));
        }
        out
    }

    #[inline(always)]
    fn power_of_two(self) -> Self {
        let mut out = self;
        for l in 0..LANES {
            out.lanes[l] = self.lanes[l].power_of_two();
        }
        out
    }

    #[inline(always)]
    fn paired(self, other: Self, of: impl Fn(f64, f64) -> [f64; 3]) -> [Self; 3] {
        let mut out = [self; 3];
        for l in 0..LANES {
            let found = of(self.lanes[l], other.lanes[l]);
            for (to, number) in out.iter_mut().zip(found) {
                to.lanes[l] = number;
            }
        }
        out
    }
}

impl<S: Simd> Add for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn add(self, other: Self) -> Self {
        each!(self, other, add_f64s)
    }
}

impl<S: Simd> Sub for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        each!(self, other, sub_f64s)
    }
}

impl<S: Simd> Mul for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        each!(self, other, mul_f64s)
    }
}

impl<S: Simd> Div for Wide<S> {
    type Output = Self;

    #[inline(always)]
    fn div(self, other: Self) -> Self {
        each!(self, other, div_f64s)
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
