//! The single list of measures: name, unit, meaning, source.

/// One measure of a vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measure {
    /// The published name, a row key of `measures` and a column of `vessels`.
    pub name: &'static str,
    /// The unit: `mm`, `mm2`, `mm3` or `1`.
    pub unit: &'static str,
    /// Whether it says how truly the vessel was made (precision) or what it is like (form and size).
    pub kind: MeasureKind,
    /// What it is, in a sentence.
    pub meaning: &'static str,
    /// Standard and clause, or `project`.
    pub source: &'static str,
    /// How it is computed.
    pub method: &'static str,
}

/// What a measure speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasureKind {
    /// Form and size of the vessel.
    Form,
    /// How truly the vessel was made; smaller is finer.
    Precision,
    /// How its deviations run. A part of them once more, so that the precision space leaves it out.
    Manner,
}

macro_rules! measures {
    ($($name:literal, $unit:literal, $kind:ident, $source:literal, $meaning:literal, $method:literal;)*) => {
        /// Every measure, in the order of the published tables.
        pub const MEASURES: &[Measure] = &[$(Measure {
            name: $name, unit: $unit, kind: MeasureKind::$kind, source: $source, meaning: $meaning, method: $method,
        }),*];
    };
}

measures! {
    "height", "mm", Form, "project", "height from the lowest point of the foot to the highest of the rim",
        "difference of the extreme heights of the outer wall's mean meridian, along the datum axis";
    "max_diameter", "mm", Form, "project", "greatest diameter of the outer wall",
        "twice the greatest radius of the mean meridian";
    "rim_diameter", "mm", Form, "project", "diameter of the rim where it is highest",
        "twice the radius where a parabola through the stations about the highest point turns, or in the middle of a level top";
    "foot_diameter", "mm", Form, "project", "diameter of the ring the vessel stands on",
        "twice the radius of the mean meridian at its lowest point, or where a flat foot's rounding begins; missing where the \
        vessel is round-bottomed";
    "neck_diameter", "mm", Form, "project", "least diameter of the outer wall between its widest point and the rim",
        "twice the least radius of the mean meridian above the widest point; missing where the rim is not wider again";
    "capacity", "mm3", Form, "project", "brimful capacity, up to the plane of the rim's top",
        "integral of pi (r^2 + mean square of the sections' deviations) dz over the inner meridian";
    "capacity_neck", "mm3", Form, "project", "capacity up to the narrowest of the neck",
        "as capacity, up to the height where the inner wall is narrowest above its widest point";
    "body_volume", "mm3", Form, "project", "volume of the material",
        "volume within the outer meridian less the capacity";
    "surface_area", "mm2", Form, "project", "area of the whole surface, both walls",
        "integral of 2 pi r ds along both meridians; what they leave open about the axis is closed by a disc";
    "centroid_size", "mm", Form, "geometric morphometrics (Bookstein 1991, from memory)",
        "root of the mean square distance of the outer meridian's points from their centroid",
        "integral along the arc of the outer meridian from the axis to the rim's top, in its half-plane; closed to the axis by a level line";
    "wall_mean", "mm", Form, "project", "mean wall thickness over the body",
        "distance from the outer mean meridian along its normal to the inner, where the walls face each other to within 45 degrees";
    "wall_min", "mm", Form, "project", "least thickness of the mean wall over the body", "as wall_mean";
    "wall_max", "mm", Form, "project", "greatest thickness of the mean wall over the body", "as wall_mean";
    "wall_unevenness", "mm", Precision, "project", "1-UPR amplitude of the wall thickness",
        "root mean square over the body of the distance between outer and inner section centres at equal heights, less \
        the noise's share";
    "roundness_outer", "mm", Precision, "ISO 12181-1 (RONt), ISO 16610-21",
        "median roundness deviation of the outer wall's sections over the body, least-squares circle, 50 UPR",
        "RONt of each section after the Gaussian filter, corrected for noise; median";
    "roundness_inner", "mm", Precision, "ISO 12181-1 (RONt), ISO 16610-21",
        "median roundness deviation of the inner wall's sections over the body, least-squares circle, 50 UPR",
        "as roundness_outer";
    "roundness_best", "mm", Precision, "ISO 12181-1 (RONt)", "roundness deviation of the roundest tenth of the outer sections",
        "10 % quantile of RONt over the body's sections, their spread first lessened by the noise's";
    "lobing_2", "mm", Precision, "project", "ovality: amplitude at 2 UPR",
        "root mean square over the body's outer sections, less the noise's share";
    "lobing_3", "mm", Precision, "project", "three-lobed form: amplitude at 3 UPR", "as lobing_2";
    "lobing_4_15", "mm", Precision, "project", "amplitude at 4 to 15 UPR",
        "root of the summed squares of the amplitudes, root mean square over the body's outer sections, less the noise's share";
    "lobing_16_50", "mm", Precision, "project", "amplitude at 16 to 50 UPR", "as lobing_4_15";
    "lobing_51_150", "mm", Precision, "project", "amplitude at 51 to 150 UPR", "as lobing_4_15";
    "lobing_change", "mm", Manner, "project", "change of the lobing from section to section: the part at 2 to 15 UPR that turns or \
        comes and goes over the height",
        "root of the summed squares of each section's departure from the mean harmonic, amplitude and phase together, root mean \
        square over the body's outer sections, less the noise's share";
    "axis_straightness_outer", "mm", Precision, "ISO 1101, ISO 12780-1",
        "diameter of the cylinder about the least-squares line of the outer wall's section centres that holds them all",
        "twice the greatest distance of the body's section centres from their line, corrected for noise";
    "axis_straightness_inner", "mm", Precision, "ISO 1101, ISO 12780-1", "the same of the inner wall", "as axis_straightness_outer";
    "coaxiality_inner", "mm", Precision, "ISO 1101", "coaxiality of the inner wall to the datum axis of the outer",
        "twice the greatest distance from the datum, over the body, of the line fitted to the inner section centres, \
        corrected for noise";
    "concentricity_rim", "mm", Precision, "ISO 1101", "concentricity of the rim to the datum axis",
        "twice the distance of the lip's centre (the middle of its flanks' centres) from the datum, corrected for noise";
    "total_runout", "mm", Precision, "ISO 1101", "total radial run-out of the outer wall about the datum axis",
        "range of the radial deviation from the mean meridian over the body, filtered, corrected for noise";
    "flatness_rim", "mm", Precision, "ISO 12781-1", "flatness of the rim's highest circle",
        "range of its heights about their least-squares plane, corrected for noise";
    "perpendicularity_rim", "mm", Precision, "ISO 1101", "perpendicularity of the rim's plane to the datum axis",
        "rise of its least-squares plane across the rim's diameter, corrected for noise";
    "flatness_foot", "mm", Precision, "ISO 12781-1", "flatness of the foot's lowest circle", "as flatness_rim";
    "perpendicularity_foot", "mm", Precision, "ISO 1101", "perpendicularity of the foot's plane to the datum axis",
        "rise of its least-squares plane across the foot's diameter, corrected for noise";
    "surface_profile_rms", "mm", Precision, "ISO 1101", "deviation of the outer wall from its mean surface of revolution, root mean square",
        "filtered deviations along the normal over the body, less the noise's share";
    "surface_profile_pv", "mm", Precision, "ISO 1101", "the same, peak to valley",
        "range of the filtered deviations along the normal over the body, corrected for noise";
}

impl Measure {
    /// The measure of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        MEASURES.iter().find(|measure| measure.name == name)
    }
}
