//! Text within markup.

/// Text that is safe between tags and within quoted attributes.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            letter if letter.is_control() && letter != '\n' && letter != '\t' => escaped.push('\u{fffd}'),
            letter => escaped.push(letter),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_escapes() {
        assert_eq!(escape("<b a='1' c=\"2\">&\u{0}"), "&lt;b a=&#39;1&#39; c=&quot;2&quot;&gt;&amp;\u{fffd}");
    }
}
