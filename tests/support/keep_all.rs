//! An import of which nothing may be refused and all is kept.

use domain::refusal::Refusal;
use store::{Go, ImportProgress, ImportWatch};

/// Watches such an import.
#[derive(Debug)]
pub struct KeepAll;

impl ImportWatch<()> for KeepAll {
    fn refused(&mut self, (): (), refusal: Refusal) {
        panic!("nothing was to be refused: {refusal}");
    }

    fn progress(&mut self, _: ImportProgress) -> Go {
        Go::On
    }

    fn keep(&mut self) -> bool {
        true
    }
}
