//! A file of lines and cells, whatever program wrote it: comma, semicolon or tab
//! between the cells, with or without byte order mark, quoted or not.

/// One row of cells, without blanks at their ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Line of the file it begins on, from 1.
    pub line: u64,
    /// Its cells.
    pub cells: Vec<String>,
}

/// A file whose separator is known.
#[derive(Clone, Debug)]
pub struct Layout<'a> {
    text: &'a str,
    separator: u8,
    /// Lines before `text`.
    skipped: u64,
}

impl<'a> Layout<'a> {
    /// Finds out how the file is laid out.
    ///
    /// # Errors
    /// It is no text in UTF-8; the message says what to do.
    pub fn of(bytes: &'a [u8]) -> Result<Self, String> {
        if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
            return Err("the sheet is written in UTF-16; save it as 'CSV UTF-8'".to_owned());
        }
        if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
            return Err(
                "this is a spreadsheet program's own file; save the sheet as 'CSV UTF-8'"
                    .to_owned(),
            );
        }
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let before = &bytes[..error.valid_up_to()];
            let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
            format!(
                "line {line} holds a letter that is not in UTF-8; save the sheet as 'CSV UTF-8'"
            )
        })?;
        // Some programs say in a line of its own what separates the cells.
        let first = text.lines().next().unwrap_or_default();
        if let Some(separator) = first.strip_prefix("sep=")
            && let [separator @ (b',' | b';' | b'\t')] = separator.as_bytes()
        {
            let rest = text.split_once('\n').map_or("", |(_, rest)| rest);
            return Ok(Self {
                text: rest,
                separator: *separator,
                skipped: 1,
            });
        }
        Ok(Self {
            text,
            separator: separator_of(text),
            skipped: 0,
        })
    }

    /// Whether numbers may have a decimal comma: where the comma separates nothing.
    pub fn decimal_comma(&self) -> bool {
        self.separator != b','
    }

    /// The rows, empty ones included.
    pub fn rows(&self) -> impl Iterator<Item = Result<Row, String>> + 'a {
        let skipped = self.skipped;
        csv::ReaderBuilder::new()
            .delimiter(self.separator)
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(self.text.as_bytes())
            .into_records()
            .map(move |record| {
                let record =
                    record.map_err(|error| format!("the sheet cannot be read: {error}"))?;
                Ok(Row {
                    line: skipped + record.position().map_or(0, csv::Position::line),
                    cells: record.iter().map(|cell| cell.trim().to_owned()).collect(),
                })
            })
    }
}

/// What separates the cells of the first line that has any: the sign there is most
/// of outside quotes.
fn separator_of(text: &str) -> u8 {
    let titles = text.lines().find(|line| !line.trim().is_empty());
    let count = |separator: u8| {
        let mut quoted = false;
        titles
            .unwrap_or_default()
            .bytes()
            .filter(|byte| {
                quoted ^= *byte == b'"';
                !quoted && *byte == separator
            })
            .count()
    };
    [b',', b';', b'\t']
        .into_iter()
        .rev()
        .max_by_key(|separator| count(*separator))
        .unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(bytes: &[u8]) -> Vec<Row> {
        let layout = Layout::of(bytes).unwrap();
        layout.rows().map(Result::unwrap).collect()
    }

    #[test]
    fn every_spreadsheet_s_way_of_writing_gives_the_same_cells() {
        let want = ["HR-01", "6.5", "a;b,c"];
        for text in [
            "coupon,leg,section\nHR-01,6.5,\"a;b,c\"\n",
            "\u{feff}coupon,leg,section\r\nHR-01, 6.5 ,\"a;b,c\"\r\n",
            "coupon;leg;section\nHR-01;6.5;\"a;b,c\"",
            "\"coupon\"\t\"leg\"\t\"section\"\n\"HR-01\"\t6.5\ta;b,c\n",
            "\n\ncoupon;\"leg, mm\";section\nHR-01;6.5;\"a;b,c\"",
        ] {
            assert_eq!(cells(text.as_bytes()).last().unwrap().cells, want, "{text}");
        }
        let rows = cells(b"sep=;\ncoupon;leg\nHR-01;\"two\nlines\"\nHR-02;\n");
        let lines: Vec<u64> = rows.iter().map(|row| row.line).collect();
        assert_eq!(lines, [2, 3, 5]);
    }

    #[test]
    fn a_file_that_is_no_such_text_says_what_to_save_it_as() {
        for bytes in [
            &b"\xFF\xFEc\0"[..],
            b"PK\x03\x04",
            b"\xD0\xCF\x11\xE0",
            b"coupon\nM\xFCller\n",
        ] {
            assert!(Layout::of(bytes).unwrap_err().contains("CSV UTF-8"));
        }
        assert!(
            Layout::of(b"coupon\nM\xFCller\n")
                .unwrap_err()
                .contains("line 2")
        );
    }
}
