//! Air stored behind a closed cock: how many applications it allows, and for how long it lasts
//! while leaking. Isothermal, with pressures counted from vacuum (Boyle's law).

use crate::units::{ATMOSPHERE, GaugePressure, Litres, Seconds};
use crate::words::word_list;
use crate::worked::{Missing, Source, Step, Worked};

word_list! {
    /// What is in the cylinders before they are filled.
    BeforeFilling, "before filling" {
        /// Their pistons lie at the bottom: all the air must come from the reservoir. The safe
        /// assumption.
        NoVolume = "no_volume",
        /// Their volume already holds air of the surroundings.
        SurroundingAir = "surrounding_air",
    }
}

/// A reservoir and the cylinders it fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StoredAir {
    /// Volume of the reservoirs together.
    pub reservoir: Litres,
    /// Pressure in them at first.
    pub pressure: GaugePressure,
    /// Volume of the cylinders together, with their pipes, pistons out.
    pub cylinders: Litres,
    /// Pressure of a full application.
    pub application: GaugePressure,
    /// What is in the cylinders before.
    pub before: BeforeFilling,
}

impl StoredAir {
    /// By how much one full application lowers the reservoir's pressure: p·V of what flows, over
    /// the reservoir's volume.
    pub fn drop_each(&self) -> GaugePressure {
        let filled = match self.before {
            BeforeFilling::NoVolume => self.application.0 + ATMOSPHERE.0,
            BeforeFilling::SurroundingAir => self.application.0,
        };
        GaugePressure(filled * self.cylinders.0 / self.reservoir.0)
    }

    /// The pressure after so many applications, each released before the next; may be below nil
    /// where that many cannot be made.
    pub fn pressure_after(&self, applications: u32) -> GaugePressure {
        GaugePressure(self.pressure.0 - f64::from(applications) * self.drop_each().0)
    }

    /// How many full applications leave at least `lowest` in the reservoir, up to 10,000; none
    /// with slide protection acting, which can use one application's air in seconds.
    pub fn applications_left(&self, lowest: GaugePressure) -> Result<Worked<u32>, Missing> {
        self.check_volumes()?;
        let count = (0..10_000)
            .take_while(|n| self.pressure_after(n + 1) >= lowest)
            .count();
        let count = u32::try_from(count).unwrap_or(0);
        let (drop, left) = (self.drop_each(), self.pressure_after(count));
        let working = format!(
            "{:.4} − {count} · {drop:.4} = {left:.4}; one more would leave {:.4}, below {lowest:.2}",
            self.pressure,
            self.pressure_after(count + 1),
        );
        Ok(Worked {
            value: count,
            steps: vec![step("full applications left", working)],
        })
    }

    /// The smallest reservoir from which one application leaves the reservoir `margin` above the
    /// cylinders: V·p/(p0 − p − margin). No answer where the pressure at first is too low for any.
    pub fn reservoir_needed(&self, margin: GaugePressure) -> Result<Worked<Litres>, Missing> {
        self.check_volumes()?;
        let spare = self.pressure.0 - self.application.0 - margin.0;
        if spare.is_nan() || spare <= 0.0 {
            let what = "a reservoir pressure above the application and its margin";
            return Err(Missing::one(what, "stored air"));
        }
        let needed = Litres(self.drop_each().0 * self.reservoir.0 / spare);
        let working = format!("air of one application over {spare:.2} bar = {needed:.2}");
        Ok(Worked {
            value: needed,
            steps: vec![step("reservoir needed", working)],
        })
    }

    fn check_volumes(&self) -> Result<(), Missing> {
        let known = self.reservoir.0 > 0.0 && self.cylinders.0 > 0.0 && self.application.0 > 0.0;
        let what = "volumes and an application pressure above nil";
        known
            .then_some(())
            .ok_or_else(|| Missing::one(what, "stored air"))
    }
}

/// How long a steady leakage in bar a minute takes from one pressure to another; `None` where
/// nothing leaks.
pub fn time_to_leak(from: GaugePressure, to: GaugePressure, bar_a_minute: f64) -> Option<Seconds> {
    (bar_a_minute > 0.0).then(|| Seconds(60.0 * (from.0 - to.0).max(0.0) / bar_a_minute))
}

fn step(what: &str, working: String) -> Step {
    let law = "Boyle's law; reservoir margin of Regulation (EU) 321/2013, appendix C.9(f)";
    Step {
        what: what.into(),
        working,
        source: Source::Published(law.into()),
    }
}
