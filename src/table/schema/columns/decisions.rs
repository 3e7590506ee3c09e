//! Columns of the tables of screening, shortlist and proportions, one line each.

use super::super::ColumnMeaning;

columns! {
    "screening" {
        "vessel_id", "", "catalogue", "name of the vessel";
        "reference", "", "catalogue", "documented reference piece: modern, old or missing; a reference is judged by a model without it";
        "log10_lr_modern", "1", "project", "logarithm (base 10) of the likelihood ratio of its measures, modern over old references; a screening value, no statement on what the piece is";
        "log10_lr_low", "1", "project", "lower end of its 95 % interval: references resampled, vessel measured anew";
        "log10_lr_high", "1", "project", "upper end of its 95 % interval";
        "support", "", "ENFSI 2015 (scale from memory)", "the ratio in words, no support where its interval holds 1 or the vessel is unlike both populations";
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
        "references_modern", "1", "project", "documented modern references the model is made of; of more than 500, 500 drawn at random";
        "references_old", "1", "project", "documented old references the model is made of; of more than 500, 500 drawn at random";
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
