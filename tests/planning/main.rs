//! Streets, and where to stand next.

mod streets;
