//! Rows for a spreadsheet: comma-separated, with nothing in a cell that a spreadsheet would carry out.

/// What a formula begins with (OWASP, *CSV Injection*, from memory); the wide forms of East Asian writing are read as the same signs.
const BEGINS_A_FORMULA: [char; 10] = ['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠'];

/// A text as a cell: one that would be a formula has an apostrophe before it, which spreadsheets take for "text follows".
pub fn cell(text: &str) -> String {
    let begins = text.trim_start_matches(' ').starts_with(BEGINS_A_FORMULA);
    if begins { format!("'{text}") } else { text.to_owned() }
}

/// Rows under headings. Every cell is made [safe](cell).
///
/// # Panics
///
/// Where a row has more or fewer cells than there are headings.
pub fn rows<'a>(headings: &[&str], rows: impl IntoIterator<Item = &'a [String]>) -> String {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let expected = "memory takes every record, and all have as many fields as the first";
    writer.write_record(headings).expect(expected);
    for row in rows {
        writer.write_record(row.iter().map(|text| cell(text))).expect(expected);
    }
    let bytes = writer.into_inner().expect("memory takes every record");
    String::from_utf8(bytes).expect("fields that are text make a text")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_would_be_a_formula_is_text() {
        let check = |text: &str, expect: &str| assert_eq!(cell(text), expect);
        check("=HYPERLINK(\"x\")", "'=HYPERLINK(\"x\")");
        check("+1", "'+1");
        check("-1", "'-1");
        check("@SUM(A1)", "'@SUM(A1)");
        check("＝1+1", "'＝1+1");
        check(" =1", "' =1");
        check("student-05", "student-05");
        check("", "");
    }

    #[test]
    fn a_cell_stays_one_cell() {
        let row = ["a,b".to_owned(), "\"c\"".to_owned(), "d\ne".to_owned()];
        let text = rows(&["one", "two", "three"], [&row[..]]);
        assert_eq!(text, "one,two,three\r\n\"a,b\",\"\"\"c\"\"\",\"d\ne\"\r\n");
    }

    proptest! {
        #[test]
        fn any_text_stays_in_its_cell_and_none_is_a_formula(text in ".{0,40}") {
            let row = [text.clone(), "x".to_owned()];
            let written = rows(&["a", "b"], [&row[..]]);
            let mut reader = csv::Reader::from_reader(written.as_bytes());
            let read: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
            prop_assert_eq!(read.len(), 1);
            let expect = cell(&text);
            prop_assert_eq!(&read[0][0], expect.as_str());
            prop_assert!(!read[0][0].starts_with(BEGINS_A_FORMULA));
        }
    }
}
