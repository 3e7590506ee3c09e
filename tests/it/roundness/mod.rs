//! Checks of roundness against closed forms, published sections, and simulated noise.

mod calibration;
mod closed_form;
mod sections;

use tornus::Upr;

fn upr(n: u16) -> Upr {
    Upr::new(n).unwrap()
}
