//! Columns of the tables of vessels and their comparison, one line each.

use super::super::ColumnMeaning;

columns! {
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
        "value_found", "per row", "project", "mean of the vessel's scans with nothing set aside, weighted as value is; missing where nothing that it rests on was set aside";
        "reason", "", "project", "why there is no value; missing where there is one";
    }
    "vessels" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "n_scans", "1", "project", "number of scans in the catalogue";
        "n_reduced", "1", "project", "number of scans reduced";
        "bent", "", "project", "whether the bend that a scan shows is the vessel's: true where two or more scans show it alike, false where another scan does not show it, so that the scan drifted; missing where there is none, or too few scans to tell";
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
        "loading_", "1", "project", "loading of one coordinate of the form: of a meridian the radii, then the heights; of a half-section or silhouette the mean radius, then a, b, c, d of each harmonic (Kuhl & Giardina 1982); of tangent angles the foot's radius over the arc, then the directions";
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
        "q", "1", "Benjamini & Hochberg 1995", "the same, adjusted over all factors for the same `of`, or over the pairs of levels of one";
        "dispersion_p", "1", "Anderson 2006", "p-value by permutation of equal scatter about the levels' means; of ten vessels or more";
        "n", "1", "project", "number of vessels compared; of more than 5,000 so many are drawn";
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
        "n", "1", "project", "number of vessels; of more than 5,000 so many are drawn";
        "permutations", "1", "project", "number of arrangements tried, the one seen included";
        "exact", "", "project", "whether these are all arrangements there are";
        "note", "", "project", "what limits the comparison";
    }
    "association_scores" {
        "association", "", "project", "as in associations";
        "vessel_id", "", "catalogue", "name of the vessel";
        "form_score", "1", "Rohlf & Corti 2000", "score of its form along the direction that goes with the partner, instruments' means taken off where vessels are exchanged within them";
        "partner_score", "1", "project", "score of its precision, a weighted sum of expected true logarithms whose weights sum to more than nought, so that on the whole greater is coarser; for size the logarithm of the centroid size over its geometric mean";
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
}
