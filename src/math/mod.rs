//! Numbers in, numbers out: the mathematics that knows nothing of vessels.
//!
//! - [`robust`]: median, MAD, quantile, Huber and Tukey weights
//! - [`fourier`]: harmonic least squares at uneven angles, with covariance
//! - [`gaussian_filter`]: the Gaussian filter of a closed profile
//! - [`circle`]: four circles through plane points: least squares, minimum zone, circumscribed, inscribed
//! - [`plane`], [`mod@line`]: least-squares plane, and line through points along z
//! - [`least_squares`]: linear least squares with covariance
//! - [`golden_section`], [`bisection`]: where a function of one number is least, and where it is nought or a condition ceases to hold
//! - [`svd`], [`cholesky`], [`small_cholesky`]: decompositions of matrices
//! - [`acceleration`]: short cuts to the end of a slow climb, such as expectation-maximisation
//! - [`quadrature`]: the mean of a function from its values at a few places
//! - [`kd_tree`]: nearest neighbours among points of few dimensions
//! - [`density`]: probabilities of the normal, chi-square, t and F distributions
//! - [`variance`]: mean and spread, one-way analysis of variance
//! - [`resample`]: equal arc length, periodic and clamped interpolation

pub mod acceleration;
pub mod bisection;
pub mod cholesky;
pub mod circle;
pub mod density;
pub mod fourier;
pub mod gaussian_filter;
pub mod golden_section;
pub mod kd_tree;
pub mod least_squares;
pub mod line;
pub mod plane;
pub mod quadrature;
pub mod resample;
pub mod robust;
pub mod small_cholesky;
pub mod svd;
pub mod variance;
