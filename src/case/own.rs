//! A test of the own system, as it goes on record.

use serde::{Deserialize, Serialize};

/// Levels of one receiver, and what they say of where the interference comes from.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OwnSystem {
    /// Level with a dummy load in the place of the antenna, dBm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub on_load_dbm: Option<f64>,
    /// Level on the antenna, own transmitters off, dBm.
    pub on_antenna_dbm: f64,
    /// Level on the antenna with the own transmitters on, dBm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub keyed_dbm: Option<f64>,
    /// Level on a second antenna of the same service, dBm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub second_antenna_dbm: Option<f64>,
    /// Bandwidth of the levels, Hz.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub bandwidth_hz: Option<f64>,
    /// Noise figure of the receiver, dB.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub noise_figure_db: Option<f64>,
    /// The own carriers, Hz.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub carriers_hz: Vec<f64>,
    /// Which own carriers were off.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub off: Option<String>,
    /// Remark.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub remark: Option<String>,
    /// What it says, the verdict first.
    pub summary: Vec<String>,
}
