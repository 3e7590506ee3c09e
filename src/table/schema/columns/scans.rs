//! Columns of the tables of scans, one line each.

use super::super::ColumnMeaning;

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
        "stands_on_foot", "", "catalogue", "yes where the vessel stood on its foot when it was scanned, so that the lowest ring seen is the foot";
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
        "smoothing_mm", "mm", "project", "standard deviation of the Gaussian kernel that would make the noise of neighbouring points as alike as it is, or, where points lie smoothly round the vessel, that explains how fast the harmonics of its sections grow weaker; without meaning unless quality says smoothed";
        "blur_mm", "mm", "project", "standard deviation of the smoothing that uncertainties and detection limits of precision were widened for: one and a half times smoothing_mm where quality says smoothed, in proportion where that is in doubt, and no less than half the distance between neighbouring points, over which smoothing cannot be told";
        "seam_mm", "mm", "project", "greatest step of the wall along a meridian; of an unhurt scan that of noise and lobes";
        "drift_mm", "mm", "project", "greatest departure of the centres common to both walls from their straight line: drift of the scan or bend of the vessel; missing unless both walls were seen";
        "u_drift_mm", "mm", "JCGM 100 (GUM)", "standard uncertainty of drift_mm: the centres' noise and what the two walls do not share";
        "double_wall_mm", "mm", "project", "distance between an upper and a lower half of the wall's points; of a single wall about one and a half of its noise";
        "quality", "", "project", "the defects found in the scan, each with strength, wall and place; missing if none";
        "coverage_outer", "1", "project", "share of the outer wall that was seen, 0 to 1";
        "coverage_inner", "1", "project", "share of the inner wall that was seen, 0 to 1";
        "masked_outer", "1", "project", "share of the outer wall set aside as handle or damage, 0 to 1";
        "masked_inner", "1", "project", "share of the inner wall set aside as handle or damage, 0 to 1";
        "up_source", "", "project", "how up was decided: opening, catalogue or assumed";
        "outline_lacks", "", "project", "what keeps the outline from being the whole vessel's: foot, rim, foot and rim, or which end is up; such a scan has no part in comparisons of form; missing where nothing does";
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
        "value_found", "per row", "project", "value with nothing set aside, handles and damage as they stand in the scan: of roundness, and of the rim's and the foot's circle; missing where nothing that it rests on was set aside";
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
}
