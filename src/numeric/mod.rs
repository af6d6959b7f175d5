//! Numerical tools that know no word of the trade.

pub mod correlated;
pub mod derivative;
pub mod least_squares;
pub mod loss;
pub mod portable;
pub mod quadrature;
pub mod quantile;
pub mod queue;
pub mod random;
pub mod special;
pub mod uncertainty;
