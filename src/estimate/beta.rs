//! The beta distribution on zero to one: its share below a point, by the continued fraction of the incomplete beta
//! function (modified Lentz), and the logarithm of the gamma function (Lanczos, nine terms).

/// The logarithm of the gamma function for arguments above zero.
fn ln_gamma(x: f64) -> f64 {
    const TERMS: [f64; 9] = [
        0.999_999_999_999_809_9,
        676.520_368_121_885_1,
        -1_259.139_216_722_402_8,
        771.323_428_777_653_1,
        -176.615_029_162_140_6,
        12.507_343_278_686_905,
        -0.138_571_095_265_720_12,
        9.984_369_578_019_572e-6,
        1.505_632_735_149_311_6e-7,
    ];
    let x = x - 1.0;
    let base = x + 7.5;
    let series = TERMS
        .iter()
        .enumerate()
        .skip(1)
        .fold(TERMS[0], |sum, (at, term)| sum + term / (x + at as f64));
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * base.ln() - base + series.ln()
}

/// The share of a beta distribution below `x`.
pub(super) fn below(x: f64, alpha: f64, beta: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let front = (ln_gamma(alpha + beta) - ln_gamma(alpha) - ln_gamma(beta)
        + alpha * x.ln()
        + beta * (1.0 - x).ln())
    .exp();
    if x < (alpha + 1.0) / (alpha + beta + 2.0) {
        front * fraction(x, alpha, beta) / alpha
    } else {
        1.0 - front * fraction(1.0 - x, beta, alpha) / beta
    }
}

fn fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1.0e-300;
    let away = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for step in 1..500 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away(1.0 + even * d);
        c = away(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away(1.0 + odd * d);
        c = away(1.0 + odd / c);
        let change = d * c;
        h *= change;
        if (change - 1.0).abs() < 1.0e-16 {
            break;
        }
    }
    h
}
