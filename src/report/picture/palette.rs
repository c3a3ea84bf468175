//! One colour for each thing in all pictures, in a light and a dark scheme; red is left to cautions.
//!
//! Neighbours differ in lightness as well as in hue, and segments stand apart by a line of paper, so that no picture is
//! read by hue alone.

/// What a colour stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Thing {
    /// The goods' price, net of discount.
    Goods,
    /// Freight and insurance.
    Freight,
    /// Duty.
    Duty,
    /// Anti-dumping and countervailing duty.
    Remedy,
    /// VAT or GST.
    Tax,
    /// The carrier's fee.
    Handling,
    /// The card's fee.
    CardFee,
    /// The build.
    Build,
    /// Complete bikes.
    Bike,
    /// Upgrades.
    Upgrade,
}

/// A thing, its class, and its colours in the light and the dark scheme.
const COLOURS: [(Thing, &str, &str, &str); 10] = [
    (Thing::Goods, "c-goods", "#5b6b7b", "#93a4b5"),
    (Thing::Freight, "c-freight", "#1f6fa8", "#62b0e6"),
    (Thing::Duty, "c-duty", "#9a6a00", "#e0aa3c"),
    (Thing::Remedy, "c-remedy", "#4b2e83", "#b49be6"),
    (Thing::Tax, "c-tax", "#0f7f6c", "#4fc9b2"),
    (Thing::Handling, "c-handling", "#8d4a7c", "#d795c6"),
    (Thing::CardFee, "c-card", "#2f3a30", "#d5d8c8"),
    (Thing::Build, "c-build", "#1f2a35", "#f1e8d2"),
    (Thing::Bike, "c-bike", "#5f7f1f", "#a6cf5a"),
    (Thing::Upgrade, "c-upgrade", "#34569c", "#8fb0f0"),
];

/// Ground, ink, faint ink and rules: class, what it sets, light, dark.
const GROUND: [(&str, &str, &str, &str); 7] = [
    ("paper", "fill", "#f5edda", "#1d2329"),
    ("ink", "fill", "#1f2a35", "#ece3cf"),
    ("faint", "fill", "#55606b", "#b3ab9b"),
    ("rule", "stroke", "#cdbf9d", "#414b55"),
    ("line", "stroke", "#1f2a35", "#ece3cf"),
    ("band", "fill", "#e6dabd", "#2b343d"),
    ("gap", "stroke", "#f5edda", "#1d2329"),
];

impl Thing {
    /// Its class in a picture.
    pub(crate) fn class(self) -> &'static str {
        COLOURS
            .iter()
            .find(|(thing, ..)| *thing == self)
            .map_or("ink", |(_, class, ..)| class)
    }
}

/// The style sheet of the pictures: the light scheme, and unless `light_alone` the dark one for those who ask for it.
pub(crate) fn style(light_alone: bool) -> String {
    let mut out = String::new();
    let scheme = |dark: bool| {
        let pick = |light: &'static str, night: &'static str| if dark { night } else { light };
        let ground = GROUND.iter().map(|(class, sets, light, night)| {
            format!(".{class}{{{sets}:{}}}", pick(light, night))
        });
        let things = COLOURS
            .iter()
            .map(|(_, class, light, night)| format!(".{class}{{fill:{}}}", pick(light, night)));
        ground.chain(things).collect::<String>()
    };
    out.push_str(&scheme(false));
    out.push_str(".rule,.line,.gap{stroke-width:10;fill:none}.gap{stroke-width:14}.line{stroke-width:16}.dash{stroke-dasharray:60 45}");
    out.push_str("text{font-family:'Landwaiter Lettering',system-ui,sans-serif;font-variant-numeric:tabular-nums}.bold{font-weight:700}");
    if !light_alone {
        out.push_str(&format!(
            "@media (prefers-color-scheme:dark){{{}}}",
            scheme(true)
        ));
    }
    out
}
