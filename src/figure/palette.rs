//! The report's colours, derived rather than picked.
//!
//! - Groups: hues of one lightness, each chosen to be as far as possible from those before it for readers of every
//!   [`Vision`]; the marker's shape tells groups apart as well, so colour is never alone.
//! - Deviations: straight lines in OKLab from a neutral light centre to a blue and an orange end of equal lightness, so that
//!   equal deviations look equally strong, sign is told by hue, and the hues stay apart without one kind of cone.

use std::sync::LazyLock;

use super::oklab::{Oklab, Rgb};
use super::vision::Vision;

/// Text and outlines.
pub const INK: Rgb = Rgb([0x22, 0x22, 0x22]);
/// Secondary text; 4.5 : 1 or more against the page.
pub const MUTED: Rgb = Rgb([0x59, 0x59, 0x59]);
/// Grid lines.
pub const GRID: Rgb = Rgb([0xdd, 0xdd, 0xdd]);
/// Uncertainty bars.
pub const BAR: Rgb = Rgb([0xb4, 0xb4, 0xb4]);
/// Cells where nothing was seen.
pub const UNSEEN: Rgb = Rgb([0xa6, 0xa6, 0xa6]);
/// What noise alone would show.
pub const NOISE: Rgb = Rgb([0xe4, 0xe4, 0xe4]);
/// The page.
pub const PAPER: Rgb = Rgb([0xff, 0xff, 0xff]);

/// Lightness of the group colours: 3 : 1 or more against the page (WCAG 2.1, 1.4.11).
const GROUP_LIGHTNESS: f64 = 0.58;
/// Chroma of the group colours where a screen can show it.
const GROUP_CHROMA: f64 = 0.16;
/// How many colours there are before they come round again.
pub const GROUP_COLOURS: usize = 6;

/// The colours of groups 0, 1, 2 ..; the first is a blue.
///
/// Each is the hue, out of one every 3 degrees, whose least distance to those before it over [`Vision::ALL`] is greatest.
#[must_use]
pub fn groups() -> &'static [Rgb] {
    // Chosen once: a choice takes longer than drawing a figure.
    static CHOSEN: LazyLock<Vec<Rgb>> = LazyLock::new(chosen);
    &CHOSEN
}

fn chosen() -> Vec<Rgb> {
    let candidates: Vec<Rgb> = (0..120).map(|step| strongest(f64::from(step) * 3.0).rgb()).collect();
    let mut chosen = vec![strongest(255.0).rgb()];
    while chosen.len() < GROUP_COLOURS {
        let apart = |c: &Rgb| chosen.iter().map(|other| least_distance(*c, *other)).fold(f64::INFINITY, f64::min);
        match candidates.iter().max_by(|a, b| apart(a).total_cmp(&apart(b))) {
            Some(next) => chosen.push(*next),
            None => break,
        }
    }
    chosen
}

/// The strongest colour of a hue that a screen can show, up to [`GROUP_CHROMA`].
fn strongest(hue_deg: f64) -> Oklab {
    let at = |chroma| Oklab::from_lch(GROUP_LIGHTNESS, chroma, hue_deg);
    let steps = (0..=32).rev().map(|step| at(GROUP_CHROMA * f64::from(step) / 32.0));
    steps.into_iter().find(|colour| colour.is_shown()).unwrap_or_else(|| at(0.0))
}

/// How different two colours look to the reader who tells them apart worst.
#[must_use]
pub fn least_distance(a: Rgb, b: Rgb) -> f64 {
    Vision::ALL.iter().map(|v| v.sees(a).distance(v.sees(b))).fold(f64::INFINITY, f64::min)
}

/// Centre and ends of the scale of deviations.
const CENTRE: Oklab = Oklab { lightness: 0.975, a: 0.0, b: 0.0 };
const END_LIGHTNESS: f64 = 0.42;
const END_CHROMA: f64 = 0.103;
const INWARD_HUE_DEG: f64 = 255.0;
const OUTWARD_HUE_DEG: f64 = 52.0;

/// The colour of a deviation, `t` from -1 (greatest inward) over 0 to 1 (greatest outward); beyond is clamped.
#[must_use]
pub fn deviation(t: f64) -> Oklab {
    let hue = if t < 0.0 { INWARD_HUE_DEG } else { OUTWARD_HUE_DEG };
    let end = Oklab::from_lch(END_LIGHTNESS, END_CHROMA, hue);
    let w = t.abs().min(1.0);
    let mix = |from: f64, to: f64| from + (to - from) * w;
    Oklab { lightness: mix(CENTRE.lightness, end.lightness), a: mix(CENTRE.a, end.a), b: mix(CENTRE.b, end.b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const JUST_NOTICEABLE: f64 = 0.02; // Ottosson 2020, order of magnitude

    #[test]
    fn group_colours_stay_apart_for_every_reader() {
        let colours = groups();
        for (i, a) in colours.iter().enumerate() {
            for b in &colours[..i] {
                assert!(least_distance(*a, *b) > 1.5 * JUST_NOTICEABLE, "{a:?} {b:?}: {}", least_distance(*a, *b));
            }
            assert!(a.contrast(PAPER) >= 3.0, "{a:?} {}", a.contrast(PAPER));
            let lightness = Oklab::from_linear(a.linear()).lightness;
            assert!((lightness - GROUP_LIGHTNESS).abs() < 0.01);
        }
    }

    #[test]
    fn deviation_scale_darkens_evenly_to_both_sides() {
        let steps: Vec<Oklab> = (0..=50).map(|i| deviation(f64::from(i) / 50.0)).collect();
        let first = steps[0].distance(steps[1]);
        for pair in steps.windows(2) {
            assert!(pair[1].lightness < pair[0].lightness);
            assert!((pair[0].distance(pair[1]) - first).abs() < 1e-12);
        }
        for step in &steps {
            assert!(step.is_shown(), "{step:?}");
        }
        for i in 0..=50 {
            let t = f64::from(i) / 50.0;
            assert!((deviation(t).lightness - deviation(-t).lightness).abs() < 1e-12);
            assert!(deviation(-t).is_shown());
        }
    }

    #[test]
    fn signs_of_deviation_stay_apart_for_every_reader() {
        for i in 5..=20 {
            let t = f64::from(i) / 20.0;
            let apart = least_distance(deviation(t).rgb(), deviation(-t).rgb());
            assert!(apart > 0.02 + 0.08 * t, "{t}: {apart}");
        }
    }

    #[test]
    fn text_is_readable_on_the_page() {
        assert!(INK.contrast(PAPER) >= 7.0 && MUTED.contrast(PAPER) >= 4.5);
    }
}
