//! A stretch of the ledger to the letter, and its proof.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::ledger::{self, KeptEntry};
use crate::proof::{self, Proven};
use domain::ledger::chain::{GENESIS, Hash};
use domain::ledger::entry::Seq;

/// Entries read at once.
pub const STRETCH_PAGE: i64 = 2_000;

const HASH: &str = "select hash from ledger where seq = $1";

impl View {
    /// The entries after a number as they are kept, at most so many. Which are corrected is not
    /// asked. One statement.
    pub async fn stretch(&mut self, after: i64, limit: i64) -> Result<Vec<KeptEntry>, StoreError> {
        ledger::kept_after(&mut self.tx, after, limit).await
    }

    /// The hashes of two entries; of 0 the hash before the first. A statement for each.
    pub async fn hashes_of(&mut self, numbers: [i64; 2]) -> Result<[Option<Hash>; 2], StoreError> {
        let mut hashes = [None, None];
        for (number, hash) in numbers.into_iter().zip(&mut hashes) {
            *hash = self.hash_of(number).await?;
        }
        Ok(hashes)
    }

    async fn hash_of(&mut self, number: i64) -> Result<Option<Hash>, StoreError> {
        if number == 0 {
            return Ok(Some(GENESIS));
        }
        let hash: Option<Vec<u8>> = on!(&mut self.tx, conn => sqlx::query_scalar(HASH).bind(number).fetch_optional(conn).await)?;
        hash.map(|hash| ledger::whole_hash(Seq(number), &hash))
            .transpose()
    }

    /// Proves the chain after an entry whose hash is taken as it is kept, over at most so many
    /// entries; where it comes to the last, that must be the head. Linear in the stretch.
    pub async fn prove(&mut self, after: i64, limit: i64) -> Result<Option<Proven>, StoreError> {
        let Some(hash) = self.hash_of(after).await? else {
            return Ok(None);
        };
        let (from, until) = ((after, hash), after.saturating_add(limit));
        let proven = proof::prove(&mut self.tx, from, until, |_| ()).await?;
        Ok(Some(proven))
    }
}
