//! Streets, and where to stand next.

mod hunts;
mod next;
mod promise;
mod streets;
