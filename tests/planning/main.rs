//! Streets, and where to stand next.

mod next;
mod streets;
