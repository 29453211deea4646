//! Whether a workbook may be unpacked at all. An XLSX file is a ZIP archive (ISO/IEC 29500-2),
//! and a small one can be made to unpack to any size. Each part is unpacked once to nowhere and
//! counted, since the sizes that an archive states of itself prove nothing.

use super::limits::{
    SHARED_STRINGS_MAX, SHARED_STRINGS_MAX_BYTES, SHEET_MAX_BYTES, WORKBOOK_MAX_BYTES,
    WORKBOOK_PART_MAX_BYTES,
};
use std::fs::File;
use std::io::{self, BufReader, Read};
use zip::ZipArchive;

/// How the name of the part with a workbook's texts ends, in lower case.
const TEXTS: &str = "sharedstrings.xml";

/// Why a workbook is not opened.
#[derive(Debug, thiserror::Error)]
pub(crate) enum ArchiveFault {
    /// It is no archive, or a damaged or encrypted one.
    #[error("an XLSX workbook that is neither damaged nor protected by a password")]
    NotAnArchive,
    /// A part would take too much memory.
    #[error("a part {part} that unpacks to at most {most} bytes; put large tables into CSV files")]
    TooLarge {
        /// The part's name.
        part: String,
        /// The most it may unpack to.
        most: u64,
    },
    /// It announces more texts than a workbook may have.
    #[error("at most {SHARED_STRINGS_MAX} texts in a workbook")]
    TooManyTexts,
}

impl From<io::Error> for ArchiveFault {
    fn from(_: io::Error) -> Self {
        Self::NotAnArchive
    }
}

impl From<zip::result::ZipError> for ArchiveFault {
    fn from(_: zip::result::ZipError) -> Self {
        Self::NotAnArchive
    }
}

/// Checks a workbook's parts. Costs one unpacking.
pub(crate) fn admit(file: File) -> Result<(), ArchiveFault> {
    let mut archive = ZipArchive::new(BufReader::new(file))?;
    let mut left = WORKBOOK_MAX_BYTES;
    for index in 0..archive.len() {
        let mut part = archive.by_index(index)?;
        let name = part.name()?.into_owned();
        let lower = name.to_ascii_lowercase();
        if lower.ends_with(TEXTS) {
            check_announced(&mut part)?;
        }
        let most = most_bytes(&lower).min(left);
        let size = io::copy(&mut part.by_ref().take(most + 1), &mut io::sink())?;
        if most < size {
            return Err(ArchiveFault::TooLarge { part: name, most });
        }
        left -= size;
    }
    Ok(())
}

/// The most that a part may unpack to. Worksheets are read cell by cell; the texts and the
/// small parts are held in memory; pictures and the like are not read.
fn most_bytes(name: &str) -> u64 {
    let file = name.rsplit('/').next().unwrap_or(name);
    match file.rsplit_once('.') {
        Some((_, "xml")) if file.ends_with(TEXTS) => SHARED_STRINGS_MAX_BYTES,
        Some((_, "xml")) if file.starts_with("sheet") => SHEET_MAX_BYTES,
        Some((_, "xml" | "rels")) => WORKBOOK_PART_MAX_BYTES,
        _ => WORKBOOK_MAX_BYTES,
    }
}

/// Checks the number of texts that the table of texts announces: memory is reserved for it
/// before the first is read. The announcement stands in the first element.
fn check_announced(part: &mut impl Read) -> Result<(), ArchiveFault> {
    let mut head = Vec::new();
    part.take(64 * 1024).read_to_end(&mut head)?;
    let head = String::from_utf8_lossy(&head);
    let (_, root) = head.split_once("<sst").ok_or(ArchiveFault::NotAnArchive)?;
    let root = root.split('>').next().unwrap_or(root);
    let announced = root.split_once("uniqueCount").map_or("", |(_, rest)| rest);
    let digits: String = announced
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(char::is_ascii_digit)
        .collect();
    match digits.parse::<u64>() {
        Ok(count) if count <= SHARED_STRINGS_MAX => Ok(()),
        Err(_) if digits.is_empty() => Ok(()),
        _ => Err(ArchiveFault::TooManyTexts),
    }
}
