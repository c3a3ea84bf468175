//! The road-cycling power model of Martin, Milliken, Cobb, `McFadden` and Coggan (Journal of Applied Biomechanics 14(3), 1998,
//! pages 276 to 291): what a speed costs in watts, and by bisection what speed some watts buy.

use super::{float, shown};
use crate::units::{Dec, Grams};

/// Gravity, metres per second squared.
const GRAVITY: f64 = 9.81;

/// A rider, a bike and a road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Road {
    /// All that moves, in kilograms.
    pub(crate) mass_kg: f64,
    /// The slope: rise over run.
    pub(crate) grade: f64,
    /// Frontal area times drag coefficient, square metres.
    pub(crate) drag_area: f64,
    /// What the spokes add to it.
    pub(crate) wheels_area: f64,
    /// The coefficient of rolling.
    pub(crate) rolling: f64,
    /// Air density, kilograms per cubic metre.
    pub(crate) density: f64,
    /// The share of the power that reaches the road.
    pub(crate) efficiency: f64,
}

/// A change of speed within some time, with the inertia of the wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Change {
    /// Metres per second at its start.
    pub(crate) from: f64,
    /// Metres per second at its end.
    pub(crate) to: f64,
    /// Seconds.
    pub(crate) seconds: f64,
    /// The moment of inertia of both wheels, kilogram square metres.
    pub(crate) inertia: f64,
    /// The radius of the tyre, metres.
    pub(crate) radius: f64,
}

/// Where the power goes: each but the total before the losses of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Watts {
    /// Against the air.
    pub(crate) air: f64,
    /// Into the tyres.
    pub(crate) rolling: f64,
    /// Into the bearings.
    pub(crate) bearings: f64,
    /// Up the slope.
    pub(crate) slope: f64,
    /// Into speed.
    pub(crate) kinetic: f64,
    /// At the pedals.
    pub(crate) total: f64,
}

impl Road {
    /// A road bike without wind: drag area 0.32, spokes 0.0044, rolling 0.004, air 1.15, drive 0.976.
    // common practice, no source: the five figures of a rider on the hoods of a road bike
    pub(crate) fn usual(mass_kg: f64, grade: f64) -> Road {
        Road {
            mass_kg,
            grade,
            drag_area: 0.32,
            wheels_area: 0.0044,
            rolling: 0.004,
            density: 1.15,
            efficiency: 0.976,
        }
    }

    /// The power at a speed over the ground and through the air, both metres per second.
    pub(crate) fn watts(&self, speed: f64, through_air: f64, change: Option<Change>) -> Watts {
        let angle = self.grade.atan();
        let air =
            through_air * through_air * speed * self.density * (self.drag_area + self.wheels_area)
                / 2.0;
        let rolling = speed * self.rolling * self.mass_kg * GRAVITY * angle.cos();
        let bearings = speed * (91.0 + 8.7 * speed) / 1000.0;
        let slope = speed * self.mass_kg * GRAVITY * angle.sin();
        let kinetic = change.map_or(0.0, |c| {
            let turning = c.inertia / (c.radius * c.radius);
            (self.mass_kg + turning) * (c.to * c.to - c.from * c.from) / (2.0 * c.seconds)
        });
        Watts {
            air,
            rolling,
            bearings,
            slope,
            kinetic,
            total: (air + rolling + bearings + slope + kinetic) / self.efficiency,
        }
    }

    /// The steady speed without wind that a power at the pedals holds, metres per second.
    pub(crate) fn speed(&self, watts: f64) -> f64 {
        let (mut slow, mut fast) = (0.0, 60.0);
        for _ in 0..200 {
            let middle = f64::midpoint(slow, fast);
            if self.watts(middle, middle, None).total < watts {
                slow = middle;
            } else {
                fast = middle;
            }
        }
        f64::midpoint(slow, fast)
    }

    /// Seconds over a length of road, metres, at a steady power.
    pub(crate) fn seconds(&self, metres: f64, watts: f64) -> f64 {
        metres / self.speed(watts)
    }

    /// Seconds for 1000 m of height at a steady power; without meaning on the flat.
    pub(crate) fn seconds_up(&self, watts: f64) -> f64 {
        self.seconds(1000.0 / self.grade.atan().sin(), watts)
    }
}

/// 1000 m of height on one slope, for one rider.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Climb {
    /// The slope out of a hundred.
    pub grade: u32,
    /// Seconds on the bike as it is.
    pub(crate) seconds: Dec,
    /// Seconds that a kilogram less saves.
    pub per_kg: Dec,
    /// Seconds that some grams less save.
    pub saved: Dec,
}

/// What a kilogram, and what some grams, are worth on 1000 m of height for a rider of this mass and power.
pub(crate) fn climb(grade: u32, rider_kg: Dec, bike: Grams, watts: Dec, fewer: Grams) -> Climb {
    let all = float(rider_kg) + float(bike.0) / 1000.0;
    let seconds = |mass: f64| Road::usual(mass, f64::from(grade) / 100.0).seconds_up(float(watts));
    let now = seconds(all);
    Climb {
        grade,
        seconds: shown(now, 0),
        per_kg: shown(now - seconds(all - 1.0), 1),
        saved: shown(now - seconds(all - float(fewer.0) / 1000.0), 1),
    }
}
