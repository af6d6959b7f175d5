//! Levels, fields, noise, mixtures, antenna lobes and path loss. Which model of loss fits a place is not decided here.

mod clutter;
pub mod convert;
mod environment;
mod family;
mod field_strength;
mod fixed;
mod free_space;
mod hata;
mod intermodulation;
mod knife_edge;
mod level_prior;
mod link;
mod model;
pub mod noise;
mod pattern;
mod ranging;
mod shadowing;
mod site_general;
mod tr38901;
mod validity;

pub use environment::{End, Environment, Prior};
pub use family::{Family, Pattern};
pub use field_strength::{
    Decision, Domain, Fall, FarField, Rule, at_distance, mean_level, mismatch_limit, probability_above,
};
pub use fixed::{FixedModel, ModelName, NoForm, Straight, Told};
pub use free_space::{PowerLaw, free_space_loss};
pub use hata::{City, Terrain};
pub use intermodulation::{HIGHEST_ORDER, Product, products};
pub use knife_edge::{Edge, fresnel_parameter, knife_edge_approximation, knife_edge_loss, knife_edge_slope};
pub use level_prior::{Between, Figure, LevelPrior, Radiated};
pub use link::{Link, Loss, PathLossError};
pub use model::{Model, clutter_loss};
pub use pattern::Lobe;
pub use ranging::{bearing_of_equal_information, relative_range_error};
pub use shadowing::ShadowCorrelation;
pub use site_general::{Coefficients, Site};
pub use tr38901::{Scenario, Sight, Village};
pub use validity::{Along, Breach, Quantity, Span, Validity};
