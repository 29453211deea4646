//! What an input may hold. Beyond these sizes reading stops with an error, so that no file,
//! however made, takes the memory of the machine.

/// The longest cell, in bytes: about what a cell of a spreadsheet can hold.
pub const CELL_MAX_BYTES: usize = 32_000;
/// The longest record of a CSV file, in bytes.
pub const RECORD_MAX_BYTES: usize = 256 * 1024;
/// The most columns of a file.
pub const COLUMNS_MAX: usize = 64;
/// The most rows of each of the files that describe car types and rule sets.
pub const DESIGN_ROWS_MAX: usize = 200_000;
/// The most rows that make one unit, train, formation, procedure or test record.
pub const GROUP_MAX_ROWS: usize = 200;
/// The most rows of a sheet: sheets are held in memory one at a time. More rows go into a CSV
/// file, which is read row by row and may be of any size.
pub const SHEET_ROWS_MAX: u32 = 200_000;
/// The most that the part of a workbook with a sheet's cells may unpack to, in bytes.
pub const SHEET_MAX_BYTES: u64 = 256 * 1024 * 1024;
/// The most that all parts of a workbook may unpack to, in bytes.
pub const WORKBOOK_MAX_BYTES: u64 = 1024 * 1024 * 1024;
/// The most that the texts of a workbook may unpack to, in bytes.
pub const SHARED_STRINGS_MAX_BYTES: u64 = 64 * 1024 * 1024;
/// The most texts that a workbook may announce.
pub const SHARED_STRINGS_MAX: u64 = 5_000_000;
/// The most that any other part of a workbook may unpack to, in bytes.
pub const WORKBOOK_PART_MAX_BYTES: u64 = 4 * 1024 * 1024;

/// The longest title, in characters.
pub const TITLE_MAX_CHARS: usize = 200;
/// The longest note on a rule set, in characters.
pub const NOTE_MAX_CHARS: usize = 2_000;
/// The longest unit of a measurand, in characters.
pub const UNIT_MAX_CHARS: usize = 20;
