//! A place on a car as typed: by its code, or by any other of its names that is of it alone.

use crate::failure::Failure;
use crate::form::{FieldErrors, Fields};
use crate::page::decision::link::CLOSE;
use crate::page::further::posed::Extra;
use domain::configuration::component::PositionRef;
use domain::decision::seen::{self, SeenAt};
use domain::decision::supposed::{SUPPOSED_MAX, called, with_codes};
use domain::identity::CarNumber;
use domain::time::Day;
use domain::unreadable::Unreadable;
use store::read::View;

/// The place that the fields `car` and `position` name. Where they name none, or several, the
/// errors say so.
pub(crate) async fn on_car(
    view: &mut View,
    fields: &Fields,
    today: Day,
    errors: &mut FieldErrors,
) -> Result<Option<PositionRef>, Failure> {
    let Some(car) = fields.required::<CarNumber>("car", errors) else {
        return Ok(None);
    };
    let named = place(view, &car, fields.text("position"), today).await?;
    Ok(named
        .map_err(|expected| errors.add("position", format!("expected {expected}")))
        .ok())
}

/// Writes what an address supposes by codes, where it says another name of a position. One
/// statement for each that does, of which there are at most [`SUPPOSED_MAX`].
pub(crate) async fn by_codes(
    view: &mut View,
    query: &mut [(String, String)],
    on: Day,
) -> Result<(), Failure> {
    let supposed = query.iter_mut().filter(|(name, _)| name == CLOSE);
    for (_, text) in supposed.take(SUPPOSED_MAX) {
        let Some((car, name)) = called(text) else {
            continue;
        };
        let place = place(view, &car, name, on).await?;
        *text = with_codes(text, |_, _| place.map(|place| place.position))?;
    }
    Ok(())
}

/// The same of what an address asks beyond the question: the position that it is about, and where
/// something was seen. One statement for each that has another name than its code.
pub(crate) async fn extra_by_codes(
    view: &mut View,
    extra: &mut Extra,
    on: Day,
) -> Result<(), Failure> {
    let asked: Option<CarNumber> = extra.text("car").parse().ok();
    for (field, text) in extra.pairs_mut().iter_mut().take(SUPPOSED_MAX) {
        match (field.as_str(), &asked) {
            ("saw", _) => {
                let Some((car, name)) = seen::called(text) else {
                    continue;
                };
                let place = place(view, &car, name, on).await?;
                *text = seen::with_code(text, |_, _| place.map(|place| place.position))?;
            }
            // Fault finding asks for a bogie there too.
            ("position", Some(car)) if text.trim().parse::<SeenAt>().is_err() => {
                if text.trim().is_empty() {
                    continue;
                }
                let place = place(view, car, text, on).await?;
                let place = place.map_err(|why| Unreadable::new("position", text, why))?;
                *text = place.position.to_string();
            }
            _ => {}
        }
    }
    Ok(())
}

/// The place of a car that a text names, or what was expected.
pub(crate) async fn place(
    view: &mut View,
    car: &CarNumber,
    text: &str,
    on: Day,
) -> Result<Result<PositionRef, String>, Failure> {
    // The code of a place of a car that the register does not know is for it to refuse.
    if let Ok(position) = text.trim().parse() {
        let car = car.clone();
        return Ok(Ok(PositionRef { car, position }));
    }
    let record = view.car(car).await?;
    let documents = &view.documents;
    let car_type = record.and_then(|record| documents.car_type(&record.car, on).cloned());
    let Some(car_type) = car_type else {
        return Ok(Err("a car of the register, or a position code".to_owned()));
    };
    Ok(match documents.place_named(&car_type, text) {
        Ok(position) => Ok(PositionRef {
            car: car.clone(),
            position,
        }),
        Err(why) => Err(why.to_string()),
    })
}
