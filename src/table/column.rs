//! A named column of one type.

/// The values of a column; `None` is missing.
#[derive(Clone, Debug, PartialEq)]
pub enum ColumnData {
    /// Real numbers, all finite.
    Float(Vec<Option<f64>>),
    /// Whole numbers.
    Integer(Vec<Option<i64>>),
    /// Words.
    Text(Vec<Option<String>>),
    /// True or false.
    Flag(Vec<Option<bool>>),
}

impl ColumnData {
    /// How many rows there are.
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Self::Float(values) => values.len(),
            Self::Integer(values) => values.len(),
            Self::Text(values) => values.len(),
            Self::Flag(values) => values.len(),
        }
    }

    /// Whether there are no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// What the column holds, in a word.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Float(_) => "float",
            Self::Integer(_) => "integer",
            Self::Text(_) => "text",
            Self::Flag(_) => "flag",
        }
    }
}

/// A named column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// The published name.
    pub name: String,
    /// The values.
    pub data: ColumnData,
}

impl Column {
    /// A column of real numbers without gaps.
    #[must_use]
    pub fn floats(name: &str, values: impl IntoIterator<Item = f64>) -> Self {
        Self::optional_floats(name, values.into_iter().map(Some))
    }

    /// A column of real numbers with gaps.
    #[must_use]
    pub fn optional_floats(name: &str, values: impl IntoIterator<Item = Option<f64>>) -> Self {
        Self { name: name.to_owned(), data: ColumnData::Float(values.into_iter().collect()) }
    }

    /// A column of whole numbers without gaps.
    #[must_use]
    pub fn integers(name: &str, values: impl IntoIterator<Item = i64>) -> Self {
        Self::optional_integers(name, values.into_iter().map(Some))
    }

    /// A column of whole numbers with gaps.
    #[must_use]
    pub fn optional_integers(name: &str, values: impl IntoIterator<Item = Option<i64>>) -> Self {
        Self { name: name.to_owned(), data: ColumnData::Integer(values.into_iter().collect()) }
    }

    /// A column of words without gaps.
    #[must_use]
    pub fn texts<T: Into<String>>(name: &str, values: impl IntoIterator<Item = T>) -> Self {
        Self::optional_texts(name, values.into_iter().map(|text| Some(text.into())))
    }

    /// A column of words with gaps.
    #[must_use]
    pub fn optional_texts(name: &str, values: impl IntoIterator<Item = Option<String>>) -> Self {
        Self { name: name.to_owned(), data: ColumnData::Text(values.into_iter().collect()) }
    }

    /// A column of truth values with gaps.
    #[must_use]
    pub fn optional_flags(name: &str, values: impl IntoIterator<Item = Option<bool>>) -> Self {
        Self { name: name.to_owned(), data: ColumnData::Flag(values.into_iter().collect()) }
    }
}
