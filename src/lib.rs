//! azimark: from compass bearings at known places to an honest area to search.

pub mod finding;
pub mod instant;
pub mod numeric;
pub mod sources;
pub mod units;

pub mod geodesy;

pub mod observe;

pub mod ingest;
pub mod north;

pub mod check;

pub mod solve;

pub mod region;

pub mod safety;

pub mod export;
pub mod report;

pub mod cli;
