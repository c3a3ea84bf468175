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
    (Thing::Remedy, "c-remedy", "#4b2e83", "#8d78d8"),
    (Thing::Tax, "c-tax", "#0f7f6c", "#4fc9b2"),
    (Thing::Handling, "c-handling", "#c04ab8", "#f3b5dd"),
    (Thing::CardFee, "c-card", "#2f3a30", "#f2f2dc"),
    (Thing::Build, "c-build", "#1f2a35", "#f1e8d2"),
    (Thing::Bike, "c-bike", "#5f7f1f", "#a6cf5a"),
    (Thing::Upgrade, "c-upgrade", "#34569c", "#8fb0f0"),
];

/// Ground, ink, faint ink and rules: class, what it sets, light, dark.
const GROUND: [(&str, &str, &str, &str); 8] = [
    ("paper", "fill", "#f5edda", "#1d2329"),
    ("ink", "fill", "#1f2a35", "#ece3cf"),
    ("faint", "fill", "#55606b", "#b3ab9b"),
    ("rule", "stroke", "#cdbf9d", "#414b55"),
    ("line", "stroke", "#1f2a35", "#ece3cf"),
    ("leader", "stroke", "#1f2a35", "#ece3cf"),
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
        // around letters lies the ground, so that a line under them does not strike them through
        let around = format!("text{{stroke:{}}}", pick(GROUND[0].2, GROUND[0].3));
        let around = std::iter::once(around);
        ground.chain(things).chain(around).collect::<String>()
    };
    out.push_str(&scheme(false));
    out.push_str(".rule,.line,.gap,.leader{stroke-width:10;fill:none}.gap{stroke-width:14}.line{stroke-width:16}.dash{stroke-dasharray:60 45}");
    out.push_str("text{font-family:'Landwaiter Lettering',system-ui,sans-serif;font-variant-numeric:tabular-nums;paint-order:stroke;stroke-width:36;stroke-linejoin:round}.bold{font-weight:700}");
    if !light_alone {
        out.push_str(&format!(
            "@media (prefers-color-scheme:dark){{{}}}",
            scheme(true)
        ));
    }
    out
}

#[cfg(test)]
#[expect(
    clippy::float_arithmetic,
    reason = "colours are no money, and how far two are apart is a root"
)]
mod tests {
    use super::*;

    type Matrix = [[f64; 3]; 3];

    /// What is seen: everything, without the long cones, and without the middle ones (Machado, Oliveira and Fernandes 2009).
    const SEEN: [(&str, Matrix); 3] = [
        (
            "all colours",
            [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
        ),
        (
            "protanopia",
            [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
        ),
        (
            "deuteranopia",
            [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
        ),
    ];

    /// From linear red, green and blue to X, Y and Z under D65, and its white (IEC 61966-2-1).
    const XYZ: Matrix = [
        [0.412_456_4, 0.357_576_1, 0.180_437_5],
        [0.212_672_9, 0.715_152_2, 0.072_175_0],
        [0.019_333_9, 0.119_192_0, 0.950_304_1],
    ];
    const WHITE: [f64; 3] = [0.950_47, 1.0, 1.088_83];

    fn times(matrix: &Matrix, [a, b, c]: [f64; 3]) -> [f64; 3] {
        matrix.map(|[x, y, z]| x * a + y * b + z * c)
    }

    fn linear(colour: &str) -> [f64; 3] {
        [1, 3, 5].map(|at| {
            let byte = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
            let share = f64::from(byte) / 255.0;
            if share <= 0.040_45 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    /// CIE 1976 L*a*b* of a colour as it is seen.
    fn lab(colour: &str, seen: &Matrix) -> [f64; 3] {
        let rgb = times(seen, linear(colour)).map(|part| part.clamp(0.0, 1.0));
        let xyz = times(&XYZ, rgb);
        let cube = |part: f64| {
            if part > 216.0 / 24_389.0 {
                part.cbrt()
            } else {
                (24_389.0 / 27.0 * part + 16.0) / 116.0
            }
        };
        let [x, y, z] = [0, 1, 2].map(|at| cube(xyz[at] / WHITE[at]));
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn apart(one: &str, other: &str, seen: &Matrix) -> f64 {
        let (one, other) = (lab(one, seen), lab(other, seen));
        let squares = one.iter().zip(other).map(|(a, b)| (a - b).powi(2));
        squares.sum::<f64>().sqrt()
    }

    /// Any two charges may lie beside each other where those between them are zero: all pairs, in both schemes, are at least ten
    /// apart (CIE76) to those who see all colours and to those who do not see red or green.
    #[test]
    fn neighbours_are_told_apart() {
        let charges = &COLOURS[..7];
        let others = [(Thing::Build, Thing::Goods), (Thing::Build, Thing::Bike)];
        let of = |thing: Thing| *COLOURS.iter().find(|(own, ..)| *own == thing).unwrap();
        let mut pairs: Vec<_> = others.map(|(a, b)| (of(a), of(b))).to_vec();
        for (at, one) in charges.iter().enumerate() {
            pairs.extend(charges[at + 1..].iter().map(|other| (*one, *other)));
        }
        assert_eq!(pairs.len(), 23);
        for (one, other) in pairs {
            for (name, seen) in &SEEN {
                for (a, b) in [(one.2, other.2), (one.3, other.3)] {
                    let apart = apart(a, b, seen);
                    assert!(
                        apart >= 10.0,
                        "{:?} and {:?}, {name}: {apart:.1}",
                        one.0,
                        other.0
                    );
                }
            }
        }
        // The measure itself: white is a hundred from black, and a colour nothing from itself.
        assert!((apart("#ffffff", "#000000", &SEEN[0].1) - 100.0).abs() < 0.1);
        assert!(apart("#1f6fa8", "#1f6fa8", &SEEN[2].1) < 1e-9);
    }
}
