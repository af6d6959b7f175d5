#![doc = include_str!("../README.md")]
//!
//! # Layers
//!
//! Data flows one way: `ingest` and `north` make true bearings of field notes, `check` doubts them, `solve` makes a
//! posterior of them, `region` an area, `report`, `export` and `page` an answer. Each uses only what stands above it here.

pub mod finding;
pub mod instant;
pub mod numeric;
pub mod sources;
pub mod units;

pub mod geodesy;
pub mod radio;

pub mod observe;

pub mod case;
pub mod ingest;
pub mod north;
pub mod simulate;

pub mod check;

pub mod streets;

pub mod activity;

pub mod solve;

pub mod region;

pub mod divide;

pub mod safety;

pub mod plan;

pub mod report;

pub mod export;
pub mod inquiry;
pub mod page;
pub mod trial;

pub mod live;

#[cfg(not(target_family = "wasm"))]
pub mod cli;
