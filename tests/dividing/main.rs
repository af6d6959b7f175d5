//! Dividing a search: parts, walks, pairs, and what a search without a find leaves.

mod annealing;
mod certified;
mod plans;
mod program;
mod theory;
