//! Checks against published sources, one file a source; each test names the document and the
//! place in it.

mod cfr_14_91_409;
mod cfr_49_229_238_intervals;
mod cfr_49_229_27;
mod cfr_49_232_205;
mod easa_faq_19102;
mod forecast_example;
mod sen_1968;
mod tm_1_1500_328_23;
mod vehicle_number;
mod xml_schema_months;
