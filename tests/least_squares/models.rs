//! The 20 model functions of the 27 problems, as NIST prints them, each with its value and its derivatives by every
//! parameter at one observation.

use std::f64::consts::{PI, TAU};

/// Value and derivatives at parameters `b` and predictors `x`.
pub type Model<const N: usize> = fn(&[f64; N], &[f64]) -> (f64, [f64; N]);

/// b₁(1 − exp(−b₂x)): Misra1a and BoxBOD.
pub fn saturation(b: &[f64; 2], x: &[f64]) -> (f64, [f64; 2]) {
    let decay = (-b[1] * x[0]).exp();
    // Through expm1 lest small b₂x lose digits.
    let risen = -(-b[1] * x[0]).exp_m1();
    (b[0] * risen, [risen, b[0] * x[0] * decay])
}

/// b₁(1 − (1 + b₂x/2)⁻²).
pub fn misra1b(b: &[f64; 2], x: &[f64]) -> (f64, [f64; 2]) {
    let base = 1.0 + b[1] * x[0] / 2.0;
    let risen = -(-2.0 * (b[1] * x[0] / 2.0).ln_1p()).exp_m1();
    (b[0] * risen, [risen, b[0] * x[0] * base.powi(-3)])
}

/// b₁(1 − (1 + 2b₂x)^(−½)).
pub fn misra1c(b: &[f64; 2], x: &[f64]) -> (f64, [f64; 2]) {
    let base = 1.0 + 2.0 * b[1] * x[0];
    let risen = -(-0.5 * (2.0 * b[1] * x[0]).ln_1p()).exp_m1();
    (b[0] * risen, [risen, b[0] * x[0] * base.powf(-1.5)])
}

/// b₁b₂x/(1 + b₂x).
pub fn misra1d(b: &[f64; 2], x: &[f64]) -> (f64, [f64; 2]) {
    let base = 1.0 + b[1] * x[0];
    let risen = b[1] * x[0] / base;
    (b[0] * risen, [risen, b[0] * x[0] / (base * base)])
}

/// b₁x^b₂.
pub fn danwood(b: &[f64; 2], x: &[f64]) -> (f64, [f64; 2]) {
    let power = x[0].powf(b[1]);
    (b[0] * power, [power, b[0] * power * x[0].ln()])
}

/// exp(−b₁x)/(b₂ + b₃x).
pub fn chwirut(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let base = b[1] + b[2] * x[0];
    let value = (-b[0] * x[0]).exp() / base;
    (value, [-x[0] * value, -value / base, -x[0] * value / base])
}

/// b₁ e^(−b₂x) + b₃ e^(−b₄x) + b₅ e^(−b₆x).
pub fn lanczos(b: &[f64; 6], x: &[f64]) -> (f64, [f64; 6]) {
    let (mut value, mut slopes) = (0.0, [0.0; 6]);
    for k in [0, 2, 4] {
        let decay = (-b[k + 1] * x[0]).exp();
        value += b[k] * decay;
        (slopes[k], slopes[k + 1]) = (decay, -b[k] * x[0] * decay);
    }
    (value, slopes)
}

/// b₁ e^(−b₂x) + b₃ e^(−(x−b₄)²/b₅²) + b₆ e^(−(x−b₇)²/b₈²).
pub fn gauss(b: &[f64; 8], x: &[f64]) -> (f64, [f64; 8]) {
    let decay = (-b[1] * x[0]).exp();
    let (mut value, mut slopes) = (b[0] * decay, [0.0; 8]);
    (slopes[0], slopes[1]) = (decay, -b[0] * x[0] * decay);
    for k in [2, 5] {
        let off = (x[0] - b[k + 1]) / b[k + 2];
        let bell = (-off * off).exp();
        value += b[k] * bell;
        slopes[k] = bell;
        slopes[k + 1] = b[k] * bell * 2.0 * off / b[k + 2];
        slopes[k + 2] = b[k] * bell * 2.0 * off * off / b[k + 2];
    }
    (value, slopes)
}

/// (b₁ + b₂x + b₃x²)/(1 + b₄x + b₅x²).
pub fn kirby2(b: &[f64; 5], x: &[f64]) -> (f64, [f64; 5]) {
    let x = x[0];
    let below = 1.0 + x * (b[3] + x * b[4]);
    let value = (b[0] + x * (b[1] + x * b[2])) / below;
    (value, [1.0 / below, x / below, x * x / below, -value * x / below, -value * x * x / below])
}

/// (b₁ + b₂x + b₃x² + b₄x³)/(1 + b₅x + b₆x² + b₇x³): Hahn1 and Thurber.
pub fn cubics(b: &[f64; 7], x: &[f64]) -> (f64, [f64; 7]) {
    let x = x[0];
    let below = 1.0 + x * (b[4] + x * (b[5] + x * b[6]));
    let value = (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / below;
    let powers = [1.0, x, x * x, x * x * x];
    let slopes =
        std::array::from_fn(|j| if j < 4 { powers[j] / below } else { -value * powers[j - 3] / below });
    (value, slopes)
}

/// b₁ + b₂ e^(−b₄x) + b₃ e^(−b₅x).
pub fn mgh17(b: &[f64; 5], x: &[f64]) -> (f64, [f64; 5]) {
    let (first, second) = ((-b[3] * x[0]).exp(), (-b[4] * x[0]).exp());
    let value = b[0] + b[1] * first + b[2] * second;
    (value, [1.0, first, second, -b[1] * x[0] * first, -b[2] * x[0] * second])
}

/// b₁ − b₂x − arctan(b₃/(x − b₄))/π.
pub fn roszman1(b: &[f64; 4], x: &[f64]) -> (f64, [f64; 4]) {
    let (x, off) = (x[0], x[0] - b[3]);
    let square = (off * off + b[2] * b[2]) * PI;
    let value = b[0] - b[1] * x - (b[2] / off).atan() / PI;
    (value, [1.0, -x, -off / square, -b[2] / square])
}

/// b₁ + yearly cycle + two cycles of unknown period b₄ and b₇.
pub fn enso(b: &[f64; 9], x: &[f64]) -> (f64, [f64; 9]) {
    let x = x[0];
    let (sin, cos) = (TAU * x / 12.0).sin_cos();
    let (mut value, mut slopes) =
        (b[0] + b[1] * cos + b[2] * sin, [1.0, cos, sin, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
    for k in [3, 6] {
        let phase = TAU * x / b[k];
        let (sin, cos) = phase.sin_cos();
        value += b[k + 1] * cos + b[k + 2] * sin;
        slopes[k] = (b[k + 1] * sin - b[k + 2] * cos) * phase / b[k];
        (slopes[k + 1], slopes[k + 2]) = (cos, sin);
    }
    (value, slopes)
}

/// b₁ − b₂x₁ e^(−b₃x₂), for the logarithm of the response.
pub fn nelson(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let decay = (-b[2] * x[1]).exp();
    (b[0] - b[1] * x[0] * decay, [1.0, -x[0] * decay, b[1] * x[0] * x[1] * decay])
}

/// b₁(x² + xb₂)/(x² + xb₃ + b₄).
pub fn mgh09(b: &[f64; 4], x: &[f64]) -> (f64, [f64; 4]) {
    let x = x[0];
    let (above, below) = (x * (x + b[1]), x * (x + b[2]) + b[3]);
    let value = b[0] * above / below;
    (value, [above / below, b[0] * x / below, -value * x / below, -value / below])
}

/// b₁ exp(b₂/(x + b₃)).
pub fn mgh10(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let base = x[0] + b[2];
    let power = (b[1] / base).exp();
    (b[0] * power, [power, b[0] * power / base, -b[0] * power * b[1] / (base * base)])
}

/// (b₁/b₂) exp(−½((x − b₃)/b₂)²).
pub fn eckerle4(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let off = (x[0] - b[2]) / b[1];
    let bell = (-0.5 * off * off).exp() / b[1];
    (b[0] * bell, [bell, b[0] * bell * (off * off - 1.0) / b[1], b[0] * bell * off / b[1]])
}

/// b₁/(1 + e^(b₂−b₃x)).
pub fn rat42(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let power = (b[1] - b[2] * x[0]).exp();
    let value = b[0] / (1.0 + power);
    let slope = -value * power / (1.0 + power);
    (value, [1.0 / (1.0 + power), slope, -slope * x[0]])
}

/// b₁/(1 + e^(b₂−b₃x))^(1/b₄).
pub fn rat43(b: &[f64; 4], x: &[f64]) -> (f64, [f64; 4]) {
    let power = (b[1] - b[2] * x[0]).exp();
    let risen = (1.0 + power).powf(-1.0 / b[3]);
    let value = b[0] * risen;
    let slope = -value * power / (1.0 + power) / b[3];
    (value, [risen, slope, -slope * x[0], value * power.ln_1p() / (b[3] * b[3])])
}

/// b₁(b₂ + x)^(−1/b₃).
pub fn bennett5(b: &[f64; 3], x: &[f64]) -> (f64, [f64; 3]) {
    let base = b[1] + x[0];
    let power = base.powf(-1.0 / b[2]);
    let value = b[0] * power;
    (value, [power, -value / (b[2] * base), value * base.ln() / (b[2] * b[2])])
}
