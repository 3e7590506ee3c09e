//! Colours in OKLab, where equal steps look equally large.
//!
//! # References
//! Ottosson 2020, A perceptual color space for image processing (matrices, from memory; the round trip and the grey axis
//! are tested). IEC 61966-2-1 (sRGB transfer function).

/// A colour of the screen, eight bits per channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub [u8; 3]);

impl Rgb {
    /// The colour as `#rrggbb`.
    #[must_use]
    pub fn hex(self) -> String {
        let [r, g, b] = self.0;
        format!("#{r:02x}{g:02x}{b:02x}")
    }

    /// The colour in linear light, each channel 0 to 1.
    #[must_use]
    pub fn linear(self) -> [f64; 3] {
        self.0.map(|channel| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        })
    }

    /// The nearest colour of the screen to one in linear light.
    #[must_use]
    pub fn from_linear(linear: [f64; 3]) -> Self {
        Self(linear.map(|c| {
            let c = c.clamp(0.0, 1.0);
            let encoded = if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 };
            (encoded * 255.0).round() as u8
        }))
    }

    /// Contrast ratio to another colour, 1 to 21.
    ///
    /// # References
    /// WCAG 2.1, definition of contrast ratio and relative luminance.
    #[must_use]
    pub fn contrast(self, other: Self) -> f64 {
        let luminance = |c: Self| {
            let [r, g, b] = c.linear();
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(self), luminance(other));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

/// A colour as lightness (0 to 1) and the two opponent axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oklab {
    /// Lightness, 0 black to 1 white.
    pub lightness: f64,
    /// Green (-) to red (+).
    pub a: f64,
    /// Blue (-) to yellow (+).
    pub b: f64,
}

impl Oklab {
    /// A colour from lightness, chroma and hue (degrees).
    #[must_use]
    pub fn from_lch(lightness: f64, chroma: f64, hue_deg: f64) -> Self {
        let (sin, cos) = hue_deg.to_radians().sin_cos();
        Self { lightness, a: chroma * cos, b: chroma * sin }
    }

    /// The colour in linear light; channels outside 0 to 1 cannot be shown.
    #[must_use]
    pub fn linear(self) -> [f64; 3] {
        let Self { lightness, a, b } = self;
        let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
        let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
        let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
        [
            4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
            -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
            -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
        ]
    }

    /// The colour that light of these linear channels has.
    #[must_use]
    pub fn from_linear([r, g, b]: [f64; 3]) -> Self {
        let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
        let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
        let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
        Self {
            lightness: 0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
            a: 1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
            b: 0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
        }
    }

    /// Whether a screen can show it.
    #[must_use]
    pub fn is_shown(self) -> bool {
        self.linear().iter().all(|c| (-1e-4..=1.000_1).contains(c))
    }

    /// The nearest colour of the screen.
    #[must_use]
    pub fn rgb(self) -> Rgb {
        Rgb::from_linear(self.linear())
    }

    /// How different two colours look; about 0.02 is just noticeable.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self.lightness - other.lightness).hypot(self.a - other.a).hypot(self.b - other.b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_trip_keeps_every_tested_colour() {
        for rgb in [[0, 0, 0], [255, 255, 255], [255, 0, 0], [12, 130, 200], [90, 90, 90]] {
            assert_eq!(Oklab::from_linear(Rgb(rgb).linear()).rgb(), Rgb(rgb));
        }
    }

    #[test]
    fn greys_have_no_chroma_and_white_is_one() {
        let white = Oklab::from_linear([1.0, 1.0, 1.0]);
        assert!((white.lightness - 1.0).abs() < 1e-6 && white.a.hypot(white.b) < 1e-6);
    }

    #[test]
    fn black_on_white_has_the_greatest_contrast() {
        assert!((Rgb([0, 0, 0]).contrast(Rgb([255, 255, 255])) - 21.0).abs() < 1e-12);
    }
}
