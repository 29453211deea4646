//! Which brakes no demand makes apply while stored air lasts. Demand comes from one place: what nobody can
//! command from the front takes no air from a reservoir, however full it looks.

use crate::circuit::Mode;
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::Modes;
use crate::circuit::state::TrainState;
use crate::isolation::losses::commanded;
use crate::worked::{Source, Step, Worked};

/// Those of some brakes that neither service nor emergency braking commanded from the foremost place makes
/// apply, ascending. Linear in nodes and lines; nothing is done where there is no brake.
pub(super) fn idle(brakes: Vec<usize>, state: &TrainState<'_>) -> Vec<usize> {
    let mut idle = brakes;
    for mode in [Mode::Emergency, Mode::Service] {
        if idle.is_empty() {
            break;
        }
        // Where nobody can command it, no demand comes.
        let Ok(foremost) = commanded(state.train(), mode) else {
            continue;
        };
        let commanded = TrainState::new(state.marked().commanded(&foremost));
        let delivery = Delivery::new(&commanded, Modes::of(mode), Air::Stored);
        idle.retain(|node| !delivery.delivers(*node));
    }
    idle.sort_unstable();
    idle
}

/// Of a reservoir whose air applies nothing where nothing asks for it (common practice, no source).
pub(super) fn none(feeds: usize) -> Worked<u32> {
    let feeds = match feeds {
        1 => "the brake".to_owned(),
        feeds => format!("any of the {feeds} brakes"),
    };
    let step = Step {
        what: "full applications left".into(),
        working: format!(
            "none: neither service nor emergency braking from the front makes {feeds} that it feeds \
             apply, however full it is: no demand comes, or air that is needed for it counts as let out"
        ),
        source: Source::CommonPractice,
    };
    Worked {
        value: 0,
        steps: vec![step],
    }
}
