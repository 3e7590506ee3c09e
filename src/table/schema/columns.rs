//! One line per column.

use super::ColumnMeaning;

macro_rules! columns {
    ($($table:literal { $($column:literal, $unit:literal, $source:literal, $meaning:literal;)* })*) => {
        /// Every column the program itself gives a meaning, but the measures as columns of `vessels`.
        pub const COLUMNS: &[ColumnMeaning] = &[$($(ColumnMeaning {
            table: $table, column: $column, unit: $unit, meaning: $meaning, source: $source,
        }),*),*];
    };
}

columns! {
    "catalogue" {
        "scan_id", "", "project", "name of the scan: the file's name without suffix, unique in the corpus";
        "vessel_id", "", "catalogue", "name of the vessel; rows with one name are repeat scans of one vessel";
        "file", "", "catalogue", "scan file, relative to the catalogue";
        "unit", "", "catalogue", "length unit of the file's coordinates";
        "content", "", "catalogue", "what the file holds: scan, profile (one side drawn) or outline (both sides); missing: as the file says";
        "instrument", "", "catalogue", "scanner";
        "u_instrument_mm", "mm", "catalogue", "declared standard uncertainty of the instrument";
        "up", "", "catalogue", "direction of the file's frame that points upwards, where the scan cannot tell";
        "material", "", "catalogue", "material of the vessel";
        "mohs", "1", "catalogue", "hardness of the material on the Mohs scale";
        "density_g_cm3", "g/cm3", "catalogue", "density of the material";
        "reference", "", "catalogue", "documented reference piece: modern, old or missing";
        "ct_cost", "1", "catalogue", "cost of a computed tomography of the vessel, in the study's own unit";
        "setting", "", "catalogue", "where the vessel was found or given";
    }
    "scans" {
        "scan_id", "", "project", "name of the scan: the file's name without suffix, unique in the corpus";
        "vessel_id", "", "catalogue", "name of the vessel; rows with one name are repeat scans of one vessel";
        "file", "", "catalogue", "scan file, relative to the catalogue";
        "blake3", "", "project", "BLAKE3 hash of the file's bytes; missing if the file could not be read";
        "format", "", "project", "file format as recognised from the content";
        "unit", "", "catalogue", "length unit of the file's coordinates";
        "triangles", "1", "project", "number of triangles";
        "points", "1", "project", "number of vertices or points";
        "instrument", "", "catalogue", "scanner";
        "status", "", "project", "reduced or rejected";
        "reason", "", "project", "why the scan was rejected";
        "axis_dx", "1", "project", "direction of the axis from foot to rim, x component in the file's frame";
        "axis_dy", "1", "project", "direction of the axis from foot to rim, y component in the file's frame";
        "axis_dz", "1", "project", "direction of the axis from foot to rim, z component in the file's frame";
        "axis_x_mm", "mm", "project", "a point of the axis at mid-height, x in the file's frame";
        "axis_y_mm", "mm", "project", "a point of the axis at mid-height, y in the file's frame";
        "axis_z_mm", "mm", "project", "a point of the axis at mid-height, z in the file's frame";
        "u_axis_tilt_rad", "rad", "JCGM 100 (GUM)", "standard uncertainty of the axis's direction, both tilts together";
        "u_axis_offset_mm", "mm", "JCGM 100 (GUM)", "standard uncertainty of the axis's position at mid-height, both offsets together";
        "noise_mm", "mm", "project", "standard deviation of the scanner's noise along the surface normal, the part that is each point's own, estimated from the scan itself";
        "noise_correlated_mm", "mm", "project", "standard deviation of the part of the noise that errs alike over some millimetres; 0 where none stands out. A surface that itself changes within some millimetres of height counts as such noise";
        "noise_length_mm", "mm", "project", "correlation length of that part; 0 where none stands out";
        "facet_mm", "mm", "project", "typical length of the mesh's edges; missing for points alone";
        "decimation_mm", "mm", "project", "typical sagitta of the mesh's facets: how far their middles lie off the wall; named decimated where edges also grow as the wall flattens";
        "smoothing_mm", "mm", "project", "standard deviation of the Gaussian kernel that would make the noise of neighbouring points as alike as it is; without meaning unless quality says smoothed";
        "blur_mm", "mm", "project", "standard deviation of the smoothing that uncertainties and detection limits of precision were widened for: one and a half times smoothing_mm where quality says smoothed, in proportion where that is in doubt, and no less than half the distance between neighbouring points, over which smoothing cannot be told";
        "seam_mm", "mm", "project", "greatest step of the wall along a meridian; of an unhurt scan that of noise and lobes";
        "drift_mm", "mm", "project", "greatest departure of the centres common to both walls from their straight line: drift of the scan or bend of the vessel; missing unless both walls were seen";
        "double_wall_mm", "mm", "project", "distance between an upper and a lower half of the wall's points; of a single wall about one and a half of its noise";
        "quality", "", "project", "the defects found in the scan, each with strength, wall and place; missing if none";
        "coverage_outer", "1", "project", "share of the outer wall that was seen, 0 to 1";
        "coverage_inner", "1", "project", "share of the inner wall that was seen, 0 to 1";
        "masked_outer", "1", "project", "share of the outer wall set aside as handle or damage, 0 to 1";
        "masked_inner", "1", "project", "share of the inner wall set aside as handle or damage, 0 to 1";
        "up_source", "", "project", "how up was decided: opening, catalogue or assumed";
        "notes", "", "project", "what a reader should know of the reduction";
    }
    "sections" {
        "scan_id", "", "project", "name of the scan";
        "wall", "", "project", "outer or inner";
        "height_mm", "mm", "project", "height of the section above the lowest point of the foot, along the axis";
        "body", "", "project", "whether the section lies on the body: not in lip or foot, on a wall steep enough";
        "coverage", "1", "project", "share of the azimuth seen, 0 to 1";
        "masked", "1", "project", "share of the azimuth set aside as handle or damage, 0 to 1";
        "highest_upr", "1", "ISO 12181-2", "highest harmonic the sampling supports";
        "detection_limit_mm", "mm", "project", "RONt that the scanner's noise alone would show, 95 %";
        "reason", "", "project", "why no section was measured at this height; missing where one was";
        "choice_ront_mm", "mm", "project", "standard uncertainty of RONt for where the edge of what is set aside is drawn; it is in the u_ columns";
        "radius_mm", "mm", "ISO 12181-1", "mean radius of the section";
        "center_x_mm", "mm", "ISO 1101", "centre of the least-squares circle about the datum axis, towards azimuth 0";
        "center_y_mm", "mm", "ISO 1101", "centre of the least-squares circle about the datum axis, towards azimuth pi/2";
        "ront_lsci_mm", "mm", "ISO 12181-1", "peak-to-valley roundness deviation, least-squares circle, after the Gaussian filter";
        "ronq_lsci_mm", "mm", "ISO 12181-1", "root mean square roundness deviation, least-squares circle";
        "ronp_lsci_mm", "mm", "ISO 12181-1", "peak-to-reference roundness deviation, least-squares circle";
        "ronv_lsci_mm", "mm", "ISO 12181-1", "reference-to-valley roundness deviation, least-squares circle";
        "ront_mzci_mm", "mm", "ISO 12181-1", "peak-to-valley roundness deviation, minimum zone circles";
        "ront_mcci_mm", "mm", "ISO 12181-1", "peak-to-valley roundness deviation, minimum circumscribed circle";
        "ront_mici_mm", "mm", "ISO 12181-1", "peak-to-valley roundness deviation, maximum inscribed circle";
        "ront_found_mm", "mm", "ISO 12181-1", "peak-to-valley roundness deviation as found, with nothing set aside";
    }
    "harmonics" {
        "scan_id", "", "project", "name of the scan";
        "wall", "", "project", "outer or inner";
        "height_mm", "mm", "project", "height of the section above the lowest point of the foot, along the axis";
        "upr", "1", "ISO 12181-1", "undulations per revolution";
        "amplitude_mm", "mm", "project", "amplitude with the noise's power taken off";
        "raw_amplitude_mm", "mm", "project", "amplitude as fitted";
        "phase_rad", "rad", "project", "azimuth phase: r = a cos(n theta - phase)";
    }
    "profiles" {
        "scan_id", "", "project", "name of the scan";
        "wall", "", "project", "outer or inner";
        "station", "1", "project", "number of the station along the meridian, from 0";
        "arc_mm", "mm", "project", "arc length from the wall's first station";
        "height_mm", "mm", "project", "height above the lowest point of the foot, along the axis";
        "radius_mm", "mm", "project", "radius of the mean meridian";
        "curvature_per_mm", "1/mm", "project", "signed curvature of the meridian, positive where the wall bulges outwards";
    }
    "patches" {
        "scan_id", "", "project", "name of the scan";
        "patch", "1", "project", "number of the patch along the meridian, from 0";
        "part", "", "project", "where it is: foot, outer, rim or inner";
        "kind", "", "project", "as what it was set aside: raised (handle, lug, spout) or lost (chip, wear)";
        "low_mm", "mm", "project", "height of its lowest place";
        "high_mm", "mm", "project", "height of its highest place";
        "azimuth_rad", "rad", "project", "azimuth of its middle, counter-clockwise seen from above";
        "width_rad", "rad", "project", "angle that it spans about the axis";
        "area_mm2", "mm2", "project", "area of the mean surface that it takes";
        "furthest_mm", "mm", "project", "greatest distance from the smooth surface, negative where something is lost; missing where nothing near the wall was seen";
    }
    "profile_arcs" {
        "scan_id", "", "project", "name of the scan";
        "wall", "", "project", "outer or inner; a piece across the rim stands with the wall that holds more of it";
        "arc", "1", "project", "number of the piece along the wall's meridian, from 0";
        "kind", "", "project", "arc or line; their number and kinds by an information criterion (Schwarz 1978)";
        "from_height_mm", "mm", "project", "height at which it begins, in the order of the stations";
        "to_height_mm", "mm", "project", "height at which it ends";
        "from_radius_mm", "mm", "project", "radius of the meridian at which it begins";
        "to_radius_mm", "mm", "project", "radius of the meridian at which it ends";
        "u_from_along_mm", "mm", "JCGM 100 (GUM)", "standard uncertainty of its beginning along the meridian; missing at the meridian's own end";
        "u_to_along_mm", "mm", "JCGM 100 (GUM)", "standard uncertainty of its end along the meridian; missing at the meridian's own end";
        "length_mm", "mm", "project", "length along the meridian";
        "rms_mm", "mm", "project", "root mean square distance of its stations from it";
        "n_stations", "1", "project", "number of stations it was fitted to";
        "smooth", "", "project", "whether it runs into the next piece without a kink, as far as the scan can tell; missing at the last";
        "arc_radius_mm", "mm", "project", "radius of the arc; missing of a line";
        "center_r_mm", "mm", "project", "centre of the arc: distance from the axis; missing of a line";
        "center_z_mm", "mm", "project", "centre of the arc: height; missing of a line";
        "angle_rad", "rad", "project", "of an arc the angle it spans, of a line its inclination to the axis, positive where it widens upwards";
        "curvature_per_mm", "1/mm", "project", "curvature of the best arc through its stations, of a line too: the bound on its straightness; positive where the material bulges";
        "turn_rad", "rad", "project", "kink at its end, positive where the material bulges; 0 at a smooth joint, where u is the kink that could hide; missing at the last";
    }
    "scan_measures" {
        "scan_id", "", "project", "name of the scan";
        "measure", "", "project", "name of the measure; see the measures as columns of vessels";
        "value", "per row", "project", "value, in the unit of the row";
        "u", "per row", "JCGM 100 (GUM)", "standard uncertainty, in the unit of the row";
        "unit", "", "project", "unit of the row";
        "detection_limit", "per row", "project", "what the scan would show of a perfect vessel, 95 %; missing where no such limit applies";
        "below_limit", "", "project", "whether the value is below its detection limit, and so only a bound";
        "u_noise", "per row", "JCGM 100 (GUM)", "part of u from the scanner's noise";
        "u_sampling", "per row", "JCGM 100 (GUM)", "part of u from finitely many points, stations and sections, and from what gaps hide";
        "u_axis", "per row", "JCGM 100 (GUM)", "part of u from the datum axis";
        "u_set_aside", "per row", "JCGM 100 (GUM)", "part of u from the choice of what is set aside";
        "u_instrument", "per row", "JCGM 100 (GUM)", "part of u from the standard uncertainty declared for the instrument";
        "reason", "", "project", "why there is no value; missing where there is one";
    }
    "unrolled" {
        "scan_id", "", "project", "name of the scan";
        "wall", "", "project", "outer or inner";
        "height_mm", "mm", "project", "height of the cell above the lowest point of the foot";
        "azimuth_rad", "rad", "project", "azimuth of the cell, counter-clockwise seen from above";
        "deviation_mm", "mm", "ISO 1101", "mean deviation from the mean surface of revolution, outwards along the normal";
        "set_aside", "", "project", "whether the cell was set aside as handle or damage";
        "patch", "", "project", "as what it was set aside: raised (handle, lug, spout) or lost (chip, wear)";
    }
    "measures" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "measure", "", "project", "name of the measure; see the measures as columns of vessels";
        "value", "per row", "project", "mean of the vessel's scans, weighted by inverse variance within and between instruments, in the unit of the row";
        "u", "per row", "JCGM 100 (GUM)", "standard uncertainty, widened where scans disagree, in the unit of the row";
        "unit", "", "project", "unit of the row";
        "n_scans", "1", "project", "number of scans that entered";
        "detection_limit", "per row", "project", "least detection limit of these scans; missing where no such limit applies";
        "below_limit", "", "project", "whether the value is below the detection limit, and so only a bound";
        "u_noise", "per row", "JCGM 100 (GUM)", "part of u from the scanners' noise";
        "u_sampling", "per row", "JCGM 100 (GUM)", "part of u from finitely many points, stations and sections, and from what gaps hide";
        "u_axis", "per row", "JCGM 100 (GUM)", "part of u from the datum axes";
        "u_set_aside", "per row", "JCGM 100 (GUM)", "part of u from the choice of what is set aside";
        "u_instrument", "per row", "JCGM 100 (GUM)", "part of u from the declared uncertainties, shared by scans with one instrument";
        "u_between", "per row", "ISO 5725-2 (idea)", "part of u from what instruments differ by in this corpus beyond their stated uncertainties";
        "u_scatter", "per row", "project", "part of u from the scatter of this vessel's scans beyond all that (Birge ratio)";
        "reason", "", "project", "why there is no value; missing where there is one";
    }
    "vessels" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "n_scans", "1", "project", "number of scans in the catalogue";
        "n_reduced", "1", "project", "number of scans reduced";
        "material", "", "catalogue", "material of the vessel";
        "mohs", "1", "catalogue", "hardness of the material on the Mohs scale";
        "density_g_cm3", "g/cm3", "catalogue", "density of the material";
        "reference", "", "catalogue", "documented reference piece: modern, old or missing";
        "ct_cost", "1", "catalogue", "cost of a computed tomography of the vessel, in the study's own unit";
        "setting", "", "catalogue", "where the vessel was found or given";
    }
    "repeatability" {
        "measure", "", "project", "name of the measure";
        "instrument", "", "catalogue", "scanner; missing: all together";
        "s_repeat", "per row", "ISO 5725-2", "repeatability standard deviation, in the measure's unit";
        "degrees", "1", "ISO 5725-2", "degrees of freedom of the repeatability standard deviation";
        "s_repeat_low", "per row", "project", "lower end of its 95 % interval, chi-square";
        "s_repeat_high", "per row", "project", "upper end of its 95 % interval, chi-square";
        "s_instrument", "per row", "ISO 5725-2", "between-instrument standard deviation, in the measure's unit";
        "n_vessels", "1", "ISO 5725-2", "number of vessels with repeat scans";
        "n_scans", "1", "ISO 5725-2", "number of their scans";
    }
    "instrument_bias" {
        "measure", "", "project", "name of the measure";
        "instrument_a", "", "catalogue", "scanner";
        "instrument_b", "", "catalogue", "the scanner it is compared with";
        "bias", "per row", "ISO 5725-4", "mean over the vessels both have scanned of the first's value less the second's, in the measure's unit";
        "degrees", "1", "JCGM 100 (GUM)", "degrees of freedom of its standard uncertainty";
        "n_vessels", "1", "project", "vessels that both have scanned";
        "p", "1", "project", "two-sided p-value against no bias, Student's t";
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over all measures and pairs";
    }
    "form_scores" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "pc", "1", "geometric morphometrics", "score on a component of the form space";
        "centroid_size_mm", "mm", "geometric morphometrics", "root of the mean square distance of the outline's points from the axis at their mean height";
    }
    "form_axes" {
        "component", "1", "project", "number of the component, from 1";
        "explained", "1", "project", "share of the total variance";
        "variance", "1", "project", "variance of the scores";
        "loading_", "1", "project", "loading of one coordinate of the form: of a meridian the radii, then the heights; of a half-section the mean radius, then a, b, c, d of each harmonic (Kuhl & Giardina 1982); of tangent angles the foot's radius over the arc, then the directions";
    }
    "form_landmarks" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "landmark", "", "geometric morphometrics", "landmark of the outer meridian: foot edge, widest point, neck or rim";
        "height_mm", "mm", "project", "its height above the lowest point of the foot";
        "radius_mm", "mm", "project", "its radius";
    }
    "form_axes_drawn" {
        "component", "1", "project", "number of the component, from 1";
        "deviations", "1", "project", "how many standard deviations from the mean form, along the component";
        "station", "1", "project", "number of the station along the outline, from 0";
        "height_rel", "1", "geometric morphometrics", "height of the form drawn back, in centroid sizes";
        "radius_rel", "1", "geometric morphometrics", "radius of the form drawn back, in centroid sizes";
    }
    "form_means" {
        "cluster", "1", "project", "group by form; 0: all vessels";
        "station", "1", "project", "number of the station along the outline, from 0";
        "height_rel", "1", "geometric morphometrics", "height of the mean form, in centroid sizes";
        "radius_rel", "1", "geometric morphometrics", "radius of the mean form, in centroid sizes";
    }
    "form_tree" {
        "node", "1", "project", "number of the node, from 1: vessels in the order of their names, then merges from the lowest up";
        "vessel_id", "", "catalogue", "the vessel; missing for a merge";
        "first", "1", "project", "number of the first of the two nodes that join; missing for a vessel";
        "second", "1", "project", "number of the other";
        "height", "1", "Ward 1963", "distance at which they join: root mean square difference of the forms at a station; of groups by Ward's linkage the root of twice the growth of the sum of squares";
        "vessels", "1", "project", "vessels below the node";
        "form_cluster", "1", "project", "published group that more than half of them are in";
        "above_cut", "", "project", "whether the merge lies above the cut into as many groups as the linkage chooses";
        "method", "", "project", "linkage of the tree";
        "unit", "", "project", "what the height is in: centroid sizes, of tangent angles radians";
    }
    "form_tree_forms" {
        "node", "1", "project", "number of the node";
        "station", "1", "project", "number of the station along the meridian, from 0";
        "height_rel", "1", "geometric morphometrics", "height of the mean form of the vessels below the node, in centroid sizes";
        "radius_rel", "1", "geometric morphometrics", "radius of that form, in centroid sizes";
    }
    "neighbours" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "rank", "1", "project", "1 for the vessel nearest to it in form";
        "neighbour_id", "", "catalogue", "name of the near vessel";
        "distance", "1", "geometric morphometrics", "root mean square distance of the two forms at a station, along the retained components, noise taken off";
        "unit", "", "project", "what the distance is in: centroid sizes, of tangent angles radians";
        "p_same", "1", "project", "probability of so great a difference between two measurements of one form; missing where the outlines have no uncertainty";
        "told_apart", "", "project", "whether that is below 0.05, so that the measurement tells the two forms apart";
    }
    "precision_axes" {
        "component", "1", "project", "number of the component, from 1";
        "explained", "1", "project", "share of the total variance";
        "variance", "1", "project", "variance of the scores";
    }
    "precision_residuals" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "measure", "", "project", "precision measure";
        "residual", "1", "project", "natural logarithm of the measure less what its peers lead to expect";
        "spread", "1", "project", "standard deviation of that expectation, measurement included";
        "bound", "", "project", "whether the measure is below its detection limit, so that the residual is an upper bound";
        "usual_mm", "mm", "project", "what the peers lead to expect";
    }
    "scree" {
        "space", "", "project", "form or precision";
        "component", "1", "project", "number of the component, from 1";
        "variance", "1", "project", "variance along the component";
        "explained", "1", "project", "share of the total variance";
        "retained", "", "project", "whether groups are looked for along it";
        "noise_variance", "1", "project", "mean square of the scores' standard uncertainties";
        "reliability", "1", "project", "share of the variance that is the vessels' and not the measurement's";
        "below_noise", "", "project", "whether noise alone would show as much along it, or makes up more than half";
    }
    "choice" {
        "space", "", "project", "form or precision";
        "method", "", "project", "how groups are formed";
        "groups", "1", "project", "number of groups";
        "criterion", "", "project", "the criterion by which the number is chosen";
        "value", "1", "project", "its value";
        "chosen", "", "project", "whether this number is chosen";
    }
    "agreement" {
        "space", "", "project", "form or precision";
        "method", "", "project", "how groups are formed";
        "groups", "1", "project", "number of groups it finds";
        "adjusted_rand", "1", "Hubert & Arabie 1985", "agreement with the published groups, adjusted Rand index";
        "silhouette", "1", "Rousseeuw 1987", "mean silhouette width";
        "agglomerative", "1", "Kaufman & Rousseeuw 1990", "agglomerative coefficient";
        "p_one_group", "1", "project", "p-value of the test against one group";
        "sampled", "1", "project", "vessels that the number of groups was chosen on (the published mixture) or that the method was run on; the others go with what those show";
        "ungrouped", "1", "project", "vessels it puts in no group";
    }
    "precision_scores" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "pc", "1", "project", "score on a component of the precision space";
        "precision_grade", "1", "ISO 286-1", "continuous standard tolerance grade whose tolerance equals the deviation";
        "precision_grade_at_most", "1", "ISO 286-1", "bound on the grade, where the deviation is below its detection limit";
    }
    "clusters" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "form_cluster", "1", "project", "group by form; missing: none";
        "form_left_out", "", "project", "why the vessel has no place in the form space; missing: it has one";
        "form_probability", "1", "project", "probability of that group";
        "form_stability", "1", "Hennig 2007", "bootstrap stability of that group, mean Jaccard";
        "precision_cluster", "1", "project", "group by precision; missing: none";
        "precision_probability", "1", "project", "probability of that group";
        "precision_stability", "1", "Hennig 2007", "bootstrap stability of that group, mean Jaccard";
    }
    "differences" {
        "factor", "", "catalogue", "catalogue column whose values part the vessels into levels";
        "of", "", "project", "what is compared: form, size or precision";
        "level_a", "", "catalogue", "first of two levels compared; missing: all levels together";
        "level_b", "", "catalogue", "second of two levels compared; missing: all levels together";
        "f", "1", "Anderson 2001", "mean square between levels over mean square within them";
        "r2", "1", "Anderson 2001", "effect size: share of the sum of squares that goes with the levels";
        "p", "1", "Anderson 2001", "p-value by permutation of the vessels; of precision within instruments";
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over all factors, or over the pairs of levels of one";
        "dispersion_p", "1", "Anderson 2006", "p-value by permutation of equal scatter about the levels' means";
        "n", "1", "project", "number of vessels compared; of more than 10,000 so many are drawn";
        "permutations", "1", "project", "number of arrangements tried, the one seen included";
        "exact", "", "project", "whether these are all arrangements there are";
        "ratio", "1", "project", "geometric mean of size, or of the precision measures, of level_b over level_a";
        "instrument_v", "1", "Cramer 1946", "association of levels and instruments, Cramer's V; missing with one instrument";
        "note", "", "project", "what limits the comparison";
    }
    "associations" {
        "association", "", "project", "form_precision: form against the logarithms of the precision measures; form_size: form against the logarithm of the centroid size";
        "effect", "1", "Robert & Escoufier 1976", "RV coefficient of form and precision, 0 to 1; share of the variance of form that goes with size";
        "by_chance", "1", "Kazi-Aoual et al. 1995", "mean of the effect over all rearrangements of the vessels";
        "correlation", "1", "Rohlf & Corti 2000", "correlation of the scores";
        "share", "1", "Rohlf & Corti 2000", "share of the squared covariance that the scores' directions hold; missing for size";
        "p", "1", "Rohlf & Corti 2000", "p-value by permutation of the vessels; of precision within instruments";
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over both associations";
        "n", "1", "project", "number of vessels; of more than 10,000 so many are drawn";
        "permutations", "1", "project", "number of arrangements tried, the one seen included";
        "exact", "", "project", "whether these are all arrangements there are";
        "note", "", "project", "what limits the comparison";
    }
    "association_scores" {
        "association", "", "project", "as in associations";
        "vessel_id", "", "catalogue", "name of the vessel";
        "form_score", "1", "Rohlf & Corti 2000", "score of its form along the direction that goes with the partner, instruments' means taken off where vessels are exchanged within them";
        "partner_score", "1", "project", "score of its precision, a weighted sum of expected true logarithms, greater is coarser; for size the logarithm of the centroid size over its geometric mean";
    }
    "association_weights" {
        "association", "", "project", "as in associations";
        "block", "", "project", "form or precision";
        "variable", "", "project", "component of the form space, or precision measure";
        "weight", "1", "Rohlf & Corti 2000", "its weight in the score; the squares of a block's weights add up to 1";
    }
    "association_forms" {
        "association", "", "project", "as in associations";
        "deviations", "1", "project", "standard deviations of the form score at which the form is drawn; missing for size";
        "size_mm", "mm", "project", "centroid size at which the form is predicted, 5 % and 95 % quantile; missing for precision";
        "station", "1", "project", "number of the station along the outline, from 0";
        "height_rel", "1", "geometric morphometrics", "height, in centroid sizes";
        "radius_rel", "1", "geometric morphometrics", "radius, in centroid sizes";
    }
    "outliers" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "form_distance", "1", "project", "distance from the group's mean form, in standard deviations";
        "form_outlier", "", "project", "whether the form stands out at the stated false discovery rate";
        "form_p", "1", "project", "p-value of the distance in the form space";
        "form_q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over the corpus";
        "precision_residual", "1", "project", "residual of log-precision, negative is finer";
        "precision_spread", "1", "project", "standard deviation of what its peers lead to expect, measurement included";
        "precision_bound", "", "project", "whether the residual is only an upper bound";
        "precision_outlier", "", "project", "whether the precision stands out at the stated false discovery rate";
        "grounds", "", "project", "why it stands out, in a sentence";
        "precision_p", "1", "project", "p-value of the residual";
        "precision_q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over the corpus";
        "direction", "", "project", "finer or coarser than its peers; missing where it does not stand out";
        "outlier", "", "project", "whether it stands out by form or precision at the stated false discovery rate";
    }
    "screening" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "reference", "", "catalogue", "documented reference piece: modern, old or missing; a reference is judged by a model without it";
        "log10_lr_modern", "1", "project", "logarithm (base 10) of the likelihood ratio of its measures, modern over old references; a screening value, no statement on what the piece is";
        "log10_lr_low", "1", "project", "lower end of its 95 % interval: references resampled, vessel measured anew";
        "log10_lr_high", "1", "project", "upper end of its 95 % interval";
        "support", "", "ENFSI 2015 (scale from memory)", "the ratio in words";
        "distance_modern", "1", "project", "distance from the modern references, standard deviations per measure";
        "p_modern", "1", "project", "how often a piece of their population would lie as far off";
        "distance_old", "1", "project", "distance from the old references, standard deviations per measure";
        "p_old", "1", "project", "how often a piece of their population would lie as far off";
        "unlike_both", "", "project", "whether both are below 0.01, so that the ratio compares two poor fits";
        "grounds", "", "project", "the measures that move the ratio most, and cautions";
        "refused", "", "project", "why there is no ratio";
    }
    "screening_references" {
        "vessel_id", "", "catalogue", "name of the documented reference";
        "reference", "", "catalogue", "modern or old";
        "source", "", "catalogue", "where it comes from: its setting, else its donor";
        "log10_lr_modern", "1", "project", "logarithm (base 10) of its likelihood ratio, from model and calibration without it";
        "log10_lr_source_out", "1", "project", "the same without all references of its kind and source";
    }
    "screening_reliability" {
        "range", "1", "project", "number of the range, from 1";
        "from_log10_lr", "1", "project", "lower end of the range of the ratio's logarithm (base 10), excluded; missing: none";
        "to_log10_lr", "1", "project", "upper end, included; missing: none";
        "modern", "1", "project", "documented modern references in it";
        "old", "1", "project", "documented old references in it";
        "stated", "1", "project", "mean probability of modern make these ratios give at even odds";
        "observed", "1", "project", "share of modern references, both kinds weighing the same";
    }
    "screening_measures" {
        "measure", "", "project", "measure the ratio is made of";
        "usual_modern_mm", "mm", "project", "what the modern references lead to expect at their mean size and hardness";
        "usual_old_mm", "mm", "project", "what the old references lead to expect at theirs";
        "spread_modern", "1", "project", "standard deviation of its natural logarithm among modern pieces";
        "spread_old", "1", "project", "standard deviation of its natural logarithm among old pieces";
    }
    "screening_validation" {
        "references_modern", "1", "project", "documented modern references";
        "references_old", "1", "project", "documented old references";
        "sources_modern", "1", "project", "sources they come from";
        "sources_old", "1", "project", "sources they come from";
        "cllr", "1", "Brummer & du Preez 2006", "cost of the references' ratios, each from model and calibration without it, bits; 1: they say nothing";
        "cllr_min", "1", "Brummer & du Preez 2006", "least cost any recalibration could have had; too low where references are few";
        "calibration_loss", "1", "Brummer & du Preez 2006", "the difference of both";
        "cllr_source_out", "1", "project", "cost where all references of a kind and source are left out together; missing where a model could not be fitted";
        "lowest_modern", "1", "project", "least logarithm (base 10) of a documented modern reference's ratio";
        "highest_old", "1", "project", "greatest logarithm (base 10) of a documented old reference's ratio";
        "least_log10_lr", "1", "project", "least logarithm (base 10) the modern references can back: -log10(n + 1)";
        "greatest_log10_lr", "1", "project", "greatest logarithm (base 10) the old references can back: log10(n + 1)";
        "adjusted_for", "", "project", "circumstances the measures are adjusted for";
    }
    "shortlist" {
        "rank", "1", "project", "place in the list: feasible vessels by value per unit of cost, then the others";
        "vessel_id", "", "catalogue", "name of the vessel";
        "value_of_scan", "1", "Raiffa & Schlaifer 1961", "decisions a tomography is expected to put right, weighted: expected value of sample information";
        "cost", "1", "catalogue", "cost of the tomography, in the study's own unit; 1 where the catalogue gives no vessel a cost";
        "value_per_cost", "1", "project", "value_of_scan over cost";
        "feasible", "", "project", "whether size, mass and path through the material allow a tomography; missing: not known";
        "chosen", "", "project", "whether the vessel is of the most valuable set within the budget";
        "gain_precision", "1", "project", "share of value_of_scan, unweighted: whether it is unusually true or untrue";
        "gain_form_group", "1", "project", "the same: which group by form; missing where there is one group or none";
        "gain_precision_group", "1", "project", "the same: which group by precision";
        "gain_modern", "1", "project", "the same: what its screening value says; missing for documented pieces";
        "gain_interior", "1", "project", "the same: what an interior shows that was not seen";
        "largest_mm", "mm", "project", "greater of height and diameter";
        "path_mm", "mm", "project", "longest straight path through the material across the axis";
        "transmission", "1", "NIST SRD 126", "share of X-rays of the study's energy that pass it";
        "mass_kg", "kg", "project", "volume of the material times the catalogue's density";
        "as_solid", "", "project", "whether path and mass are those of a solid, since the interior was not seen, and so at most";
        "grounds", "", "project", "why, in a sentence";
    }
    "shortlist_budget" {
        "budget", "1", "project", "budget, in the study's own unit";
        "kind", "", "project", "now: the budget asked for; next: the least that buys more; other: for comparison";
        "cost", "1", "project", "what the best choice costs";
        "value", "1", "project", "decisions it is expected to put right";
        "vessels", "", "project", "the vessels of the best choice";
        "value_least_certain", "1", "project", "the same of taking the least certain first";
        "value_random", "1", "project", "the same of taking at random, mean";
        "proven", "", "project", "whether no better choice exists";
    }
    "proportions" {
        "statement", "", "project", "what is claimed: length / length = constant";
        "constant", "1", "project", "the constant; fitted ones as found on the first half of the vessels";
        "n_vessels", "1", "project", "vessels with both lengths";
        "matches", "1", "project", "vessels whose ratio meets the constant within its uncertainty; of a fitted one, of the held-out half";
        "expected", "1", "project", "matches expected of a decoy constant nearby";
        "p", "1", "project", "probability that a decoy constant would be matched as often and as closely; missing for fitted ones";
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted for every statement tried";
        "p_pairing", "1", "project", "probability of matching as well if lengths of different vessels were put together";
        "found", "", "project", "whether the first half of the vessels speaks for it, every statement tried being counted";
        "held_out", "1", "Cox 1975", "p on the half that was held out; missing where the first half does not speak for it";
        "accepted", "", "project", "whether the held-out half confirms it, and it was fixed before looking";
        "note", "", "project", "why it could not be judged";
    }
    "proportion_decoys" {
        "matches", "1", "project", "matches of a set of decoy constants";
        "decoy_sets", "1", "project", "sets of decoys with so many";
    }
    "proportion_vessels" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "matches", "1", "project", "statements it matches";
        "tried", "1", "project", "statements whose decoys it lies in reach of";
        "expected", "1", "project", "matches expected of decoy constants";
        "p", "1", "project", "probability of so many, the statements taken as independent";
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over the vessels";
    }
    "proportion_series" {
        "series", "", "project", "name of the series";
        "n_vessels", "1", "project", "vessels with every member";
        "ratio", "1", "project", "ratio of the series, stated or the likeliest within its bounds";
        "likeliest", "1", "project", "the likeliest ratio, whatever was stated";
        "scatter", "1", "project", "relative standard deviation about the series, measurement taken out";
        "bic_difference", "1", "Schwarz 1978", "criterion less that of the best alternative; below 0 the series describes better";
        "alternative", "", "project", "the best alternative: arithmetic, power or parabola";
        "p", "1", "project", "of a stated ratio: probability that a decoy would lie as near the likeliest";
        "held_out", "1", "Vuong 1989", "p of the series predicting the held-out half better than the alternative by chance";
        "accepted", "", "project", "whether criterion and held-out half prefer it";
    }
    "proportion_designs" {
        "design", "", "project", "name of the design";
        "vessel_id", "", "catalogue", "name of the vessel";
        "base_mm", "mm", "project", "radius the series starts from, fitted";
        "ratio", "1", "project", "ratio of the series, stated or fitted to this vessel";
        "parameters", "1", "project", "parameters fitted to this vessel";
        "share", "1", "project", "share of the meridian's variance about its mean radius that the design explains";
        "free_share", "1", "project", "share a free curve of as many parameters explains";
        "free_parameters", "1", "project", "parameters a free curve needs to explain as much; missing: more than twelve";
        "rms_mm", "mm", "project", "root mean square deviation of the scan from the design";
    }
    "proportion_deviations" {
        "design", "", "project", "name of the design";
        "vessel_id", "", "catalogue", "name of the vessel";
        "height_mm", "mm", "project", "height above the lowest point of the foot";
        "deviation_mm", "mm", "project", "radius of the scan less that of the design";
    }
}
