//! Checks against published sources, one file a source; each test names the document and the
//! place in it.

mod bavarian_eboa;
mod bostrab;
mod brake_percentage;
mod brake_percentage_examples;
mod building_and_operating_rules_1913;
mod cfr_14_43_10;
mod cfr_14_91_409;
mod cfr_21_11;
mod cfr_49_229_20;
mod cfr_49_229_238_intervals;
mod cfr_49_229_27;
mod cfr_49_232;
mod cfr_49_232_205;
mod cfr_49_238_15;
mod cfr_49_238_311;
mod cfr_49_238_313;
mod driver_training_goods_trains;
mod easa_faq_19102;
mod en_14531_1;
mod end_of_train_laws;
mod forecast_example;
mod iso_10007;
mod loc_pas_tsi;
mod maintenance_records;
mod physics_textbooks;
mod sen_1968;
mod sql_2011;
mod stopping_distance_methods;
mod stored_air;
mod subset_026;
mod tm_1_1500_328_23;
mod train_dynamics_program;
mod vehicle_number;
mod wag_tsi;
mod xml_schema_months;

/// Two real numbers agree within an absolute tolerance.
#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    let apart = (found - expected).abs();
    assert!(apart <= tolerance, "found {found}, expected {expected}");
}
