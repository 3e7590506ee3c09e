//! The ways of grouping vessels.

use std::str::FromStr;

/// A way of grouping vessels by their places in a space of few dimensions.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Gaussian mixture of the true places, the noise taken out.
    #[default]
    Mixture,
    /// Gaussian mixture of the places as they are, a full covariance for every group.
    FullMixture,
    /// Least sum of squares about the groups' means.
    KMeans,
    /// The tree of merges that let the sum of squares grow least.
    Ward,
    /// The tree of merges at the least mean distance.
    Average,
    /// Vessels that can be reached from one another where they lie close.
    Density,
}

/// A word that is no way of grouping.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("way of grouping must be one of {}: {found:?}", Method::ALL.map(Method::key).join(", "))]
pub struct UnknownMethod {
    /// The word as it was written.
    pub found: String,
}

impl Method {
    /// Every way.
    pub const ALL: [Self; 6] =
        [Self::Mixture, Self::FullMixture, Self::KMeans, Self::Ward, Self::Average, Self::Density];

    /// Its word in a study.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Mixture => "mixture",
            Self::FullMixture => "full-mixture",
            Self::KMeans => "k-means",
            Self::Ward => "ward",
            Self::Average => "average",
            Self::Density => "density",
        }
    }

    /// Its words in tables and on pages.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Mixture => "mixture, noise taken out",
            Self::FullMixture => "mixture, full covariances",
            Self::KMeans => "k-means",
            Self::Ward => "Ward linkage",
            Self::Average => "average linkage",
            Self::Density => "density",
        }
    }
}

impl FromStr for Method {
    type Err = UnknownMethod;

    fn from_str(text: &str) -> Result<Self, UnknownMethod> {
        let word = text.trim();
        Self::ALL
            .into_iter()
            .find(|method| method.key() == word)
            .ok_or_else(|| UnknownMethod { found: text.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_has_a_word_that_is_read_back() {
        for method in Method::ALL {
            assert_eq!(method.key().parse(), Ok(method));
        }
        let unknown = "single".parse::<Method>().unwrap_err();
        assert!(unknown.to_string().contains("ward, average, density: \"single\""), "{unknown}");
    }
}
