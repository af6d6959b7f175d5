//! A field-strength measurement as it goes on record: everything that its sheet says.

use serde::{Deserialize, Serialize};

use crate::case::Kept;

/// A sheet that was kept in a case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Files and figures.
    #[serde(flatten)]
    pub kept: Kept,
    /// The sheet.
    pub sheet: Sheet,
}

/// A field-strength sheet. Levels are in dBµV/m, uncertainties in dB; what was not stated is absent.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// Why the sheet is indicative only; empty where it is not.
    pub indicative: Vec<String>,
    /// Field strength where it was measured.
    pub field_dbuv_m: f64,
    /// Combined standard uncertainty; absent where nothing is known of any input.
    pub standard_db: Option<f64>,
    /// Expanded uncertainty.
    pub expanded_db: Option<f64>,
    /// Its coverage factor.
    pub k: Option<f64>,
    /// Effective degrees of freedom; absent where they are infinite.
    pub freedom: Option<f64>,
    /// Frequency.
    pub frequency_hz: f64,
    /// Distance to the emitting antenna.
    pub distance_m: Option<f64>,
    /// Height of the measuring antenna above ground.
    pub height_m: Option<f64>,
    /// Detector.
    pub detector: Option<String>,
    /// Resolution bandwidth.
    pub rbw_hz: Option<f64>,
    /// Polarisation.
    pub polarisation: Option<String>,
    /// Antenna factor used, dB/m; absent where the readings are field strengths already.
    pub antenna_factor_db_m: Option<f64>,
    /// Gain that the antenna factor was computed from, dBi.
    pub gain_dbi: Option<f64>,
    /// Certificate of the antenna's calibration.
    pub certificate: Option<String>,
    /// Date of that calibration.
    pub calibrated: Option<String>,
    /// Where it was measured, in words.
    pub site: Option<String>,
    /// Time of the first reading, UTC.
    pub first: Option<String>,
    /// Time of the last reading, UTC.
    pub last: Option<String>,
    /// In what the readings were averaged.
    pub averaged: String,
    /// Field strength of each reading.
    pub readings_dbuv_m: Vec<f64>,
    /// Uncertainty budget.
    pub budget: Vec<BudgetLine>,
    /// Inputs of which no uncertainty is stated.
    pub missing: Vec<String>,
    /// The field at another distance, by assumption.
    pub elsewhere: Option<Elsewhere>,
    /// Comparison with a limit.
    pub comparison: Option<Comparison>,
    /// What the reader must know.
    pub warnings: Vec<String>,
}

/// A line of the budget.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BudgetLine {
    /// The input.
    pub input: String,
    /// Its estimate with its unit.
    pub estimate: String,
    /// Type of evaluation: A by statistics, B otherwise.
    pub evaluation: char,
    /// Distribution.
    pub distribution: String,
    /// What was stated, or the standard deviation of one reading, dB.
    pub stated_db: f64,
    /// What that is divided by.
    pub divisor: f64,
    /// Sensitivity, dB per dB.
    pub sensitivity: f64,
    /// Contribution to the combined standard uncertainty, dB.
    pub contribution_db: f64,
    /// Degrees of freedom; absent where they are infinite.
    pub freedom: Option<f64>,
}

/// A field at a distance where nobody measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Elsewhere {
    /// The distance.
    pub distance_m: f64,
    /// The field there.
    pub field_dbuv_m: f64,
    /// What was assumed.
    pub assumption: String,
}

/// A comparison with an upper limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// The limit.
    pub limit_dbuv_m: f64,
    /// Distance at which it applies.
    pub distance_m: Option<f64>,
    /// Whose limit, in words.
    pub source: Option<String>,
    /// The field that was compared.
    pub field_dbuv_m: f64,
    /// Decision rule, in words.
    pub rule: String,
    /// Decision, in words.
    pub decision: String,
    /// Probability that the true field lies above the limit; absent without an uncertainty.
    pub above: Option<f64>,
}
