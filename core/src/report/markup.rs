//! Text to paste into a message, in the markup of the place.
//!
//! No text that is passed in can act as markup, because names come from descriptions and notes from anybody.

use serde::{Deserialize, Serialize};

/// The markup of a place where text is pasted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Format {
    /// None.
    Plain,
    /// Markdown, as CommonMark 0.31 has it.
    Markdown,
    /// The bracketed tags of forums (BBCode).
    Bbcode,
}

/// A piece of a text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Line(String),
    /// An important paragraph.
    Strong(String),
    /// An ordered list.
    Steps(Vec<String>),
    /// An unordered list.
    Points(Vec<String>),
    /// The text of a link, and its address.
    Link(String, String),
}

/// A text to paste.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Text {
    /// Its markup.
    pub format: Format,
    /// Its pieces.
    pub blocks: Vec<Block>,
}

/// The text in its markup.
#[must_use]
pub fn paste(text: &Text) -> String {
    let blocks: Vec<String> = text.blocks.iter().map(|b| block(text.format, b)).collect();
    blocks.join("\n\n") + "\n"
}

fn block(format: Format, block: &Block) -> String {
    let say = |text: &str| escape(format, text);
    let list = |items: &[String], mark: &dyn Fn(usize) -> String| {
        let lines: Vec<String> = items.iter().enumerate().map(|(i, t)| mark(i) + &say(t)).collect();
        lines.join("\n")
    };
    match (block, format) {
        (Block::Heading(text), Format::Plain) => {
            let text = say(text);
            let line = "=".repeat(text.chars().count());
            format!("{text}\n{line}")
        }
        (Block::Heading(text), Format::Markdown) => format!("### {}", say(text)),
        (Block::Heading(text) | Block::Strong(text), Format::Bbcode) => format!("[b]{}[/b]", say(text)),
        (Block::Strong(text), Format::Markdown) => format!("**{}**", say(text)),
        (Block::Strong(text) | Block::Line(text), _) => say(text),
        (Block::Steps(items), Format::Bbcode) => {
            format!("[list=1]\n{}\n[/list]", list(items, &|_| "[*]".into()))
        }
        (Block::Points(items), Format::Bbcode) => {
            format!("[list]\n{}\n[/list]", list(items, &|_| "[*]".into()))
        }
        (Block::Steps(items), _) => list(items, &|i| format!("{}. ", i + 1)),
        (Block::Points(items), _) => list(items, &|_| "- ".into()),
        (Block::Link(text, url), Format::Plain) => format!("{}:\n{}", say(text), address(url)),
        (Block::Link(text, url), Format::Markdown) => format!("[{}](<{}>)", say(text), address(url)),
        (Block::Link(text, url), Format::Bbcode) => {
            format!("[url={}]{}[/url]", address(url), say(text))
        }
    }
}

/// A text as one line, with all markup escaped.
fn escape(format: Format, text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut out = String::with_capacity(line.len());
    for letter in line.chars() {
        match format {
            Format::Plain => out.push(letter),
            // Every ASCII punctuation character may be escaped (CommonMark 2.4). This escapes the characters
            // that begin something inside a line. At the beginning of a line stands our own mark or a word.
            Format::Markdown if r"\`*_{}[]<>#|~&!@".contains(letter) => {
                out.push('\\');
                out.push(letter);
            }
            // BBCode has no escape, so brackets become others that look the same.
            Format::Bbcode if letter == '[' => out.push('\u{ff3b}'),
            Format::Bbcode if letter == ']' => out.push('\u{ff3d}'),
            _ => out.push(letter),
        }
    }
    if format == Format::Markdown { head(&out) } else { out }
}

/// A text that cannot begin a list or a rule at the beginning of a paragraph.
fn head(text: &str) -> String {
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    if text.starts_with(['-', '+', '=']) {
        return format!("\\{text}");
    }
    if digits > 0 && text[digits..].starts_with(['.', ')']) {
        return format!("{}\\{}", &text[..digits], &text[digits..]);
    }
    text.to_owned()
}

/// An address in which every character that could end it early is percent-encoded.
fn address(url: &str) -> String {
    let mut out = String::with_capacity(url.len());
    for letter in url.chars() {
        match letter {
            '<' | '>' | '[' | ']' | '"' | '\\' | '(' | ')' | ' ' => {
                out += &format!("%{:02X}", u32::from(letter))
            }
            letter if letter.is_control() => {}
            letter => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(format: Format) -> String {
        let items = vec!["Look at the *filter*: dirty".to_owned(), "1. not a list".to_owned()];
        paste(&Text {
            format,
            blocks: vec![
                Block::Heading("A mower".into()),
                Block::Strong("next: [b]look[/b]".into()),
                Block::Steps(items.clone()),
                Block::Points(items),
                Block::Line("- said\n\nsomebody <script>".into()),
                Block::Link("The job".into(), "https://a.example/?x=(1)>#j=2.ab_c".into()),
            ],
        })
    }

    #[test]
    fn plain() {
        assert_eq!(
            text(Format::Plain),
            "A mower\n=======\n\nnext: [b]look[/b]\n\n1. Look at the *filter*: dirty\n2. 1. not a list\n\n\
             - Look at the *filter*: dirty\n- 1. not a list\n\n- said somebody <script>\n\n\
             The job:\nhttps://a.example/?x=%281%29%3E#j=2.ab_c\n"
        );
    }

    #[test]
    fn markdown() {
        assert_eq!(
            text(Format::Markdown),
            "### A mower\n\n**next: \\[b\\]look\\[/b\\]**\n\n1. Look at the \\*filter\\*: dirty\n2. 1\\. not a list\n\n\
             - Look at the \\*filter\\*: dirty\n- 1\\. not a list\n\n\\- said somebody \\<script\\>\n\n\
             [The job](<https://a.example/?x=%281%29%3E#j=2.ab_c>)\n"
        );
    }

    #[test]
    fn bbcode() {
        assert_eq!(
            text(Format::Bbcode),
            "[b]A mower[/b]\n\n[b]next: \u{ff3b}b\u{ff3d}look\u{ff3b}/b\u{ff3d}[/b]\n\n\
             [list=1]\n[*]Look at the *filter*: dirty\n[*]1. not a list\n[/list]\n\n\
             [list]\n[*]Look at the *filter*: dirty\n[*]1. not a list\n[/list]\n\n- said somebody <script>\n\n\
             [url=https://a.example/?x=%281%29%3E#j=2.ab_c]The job[/url]\n"
        );
    }
}
