//! Pictures: inline SVG with a title and a description, and the few shapes they are made of.

use std::fmt::{self, Write};

use maud::{Markup, PreEscaped, html};

/// A length or a place in a picture, in its own units: 880 are the width of the column. Prints to a tenth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Px(pub f64);

impl fmt::Display for Px {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Adding nothing makes a negative nothing a plain one.
        write!(f, "{}", (self.0 * 10.0).round() / 10.0 + 0.0)
    }
}

/// The width of a picture that takes the whole column.
pub const WIDTH: f64 = 880.0;

/// A picture with what is said of it to those who do not see it.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Names it within the page.
    pub id: String,
    /// What it shows.
    pub title: String,
    /// What is seen in it.
    pub desc: String,
    /// How high it is, where it is [`WIDTH`] wide.
    pub height: f64,
    /// What is drawn.
    pub drawing: Drawing,
}

impl Picture {
    /// The picture as it stands in the page.
    pub fn svg(&self) -> Markup {
        let (title, desc) = (format!("{}-t", self.id), format!("{}-d", self.id));
        html! {
            svg viewBox=(format!("0 0 {} {}", Px(WIDTH), Px(self.height))) role="img"
                aria-labelledby=(title) aria-describedby=(desc) {
                title id=(title) { (self.title) }
                desc id=(desc) { (self.desc) }
                (PreEscaped(&self.drawing.svg))
            }
        }
    }
}

/// Pictures that stand together; on a narrow screen they are moved sideways.
pub fn figure(pictures: &[Picture], label: &str) -> Markup {
    html! {
        figure.wide.line[pictures.len() > 1] tabindex="0" aria-label=(label) {
            @for picture in pictures { (picture.svg()) }
        }
    }
}

/// Shapes in the order they are drawn. A class is one of the style sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    svg: String,
}

impl Drawing {
    /// What has been drawn, as text.
    pub fn as_str(&self) -> &str {
        &self.svg
    }

    fn push(&mut self, shape: fmt::Arguments<'_>) {
        // A string takes whatever is written into it.
        let _ = self.svg.write_fmt(shape);
    }

    /// A straight line.
    pub fn line(&mut self, class: &'static str, from: (f64, f64), to: (f64, f64)) {
        let [x1, y1, x2, y2] = [from.0, from.1, to.0, to.1].map(Px);
        self.push(format_args!("<path class=\"{class}\" d=\"M{x1} {y1}L{x2} {y2}\"/>"));
    }

    /// A rectangle from its upper left corner, its own corners rounded by `round`.
    pub fn rect(&mut self, class: &'static str, at: (f64, f64), size: (f64, f64), round: f64) {
        let [x, y, width, height] = [at.0, at.1, size.0, size.1].map(Px);
        let rounded = if round > 0.0 { format!(" rx=\"{}\"", Px(round)) } else { String::new() };
        self.push(format_args!(
            "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"{rounded}/>"
        ));
    }

    /// A disc around its middle.
    pub fn disc(&mut self, class: &'static str, middle: (f64, f64), radius: f64) {
        let [x, y, r] = [middle.0, middle.1, radius].map(Px);
        self.push(format_args!("<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>"));
    }

    /// A path as SVG writes it.
    pub fn path(&mut self, class: &'static str, d: &str) {
        if !d.is_empty() {
            self.push(format_args!("<path class=\"{class}\" d=\"{d}\"/>"));
        }
    }

    /// A text on its base line.
    pub fn text(&mut self, class: &'static str, at: (f64, f64), text: &str) {
        let [x, y] = [at.0, at.1].map(Px);
        let text = html! { (text) }.into_string();
        let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
        self.push(format_args!("<text{class} x=\"{x}\" y=\"{y}\">{text}</text>"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_print_to_a_tenth_without_a_sign_on_nothing() {
        let check = |place: f64, expect: &str| assert_eq!(Px(place).to_string(), expect);
        check(12.0, "12");
        check(12.34, "12.3");
        check(-0.04, "0");
        check(-1.25, "-1.3");
    }

    #[test]
    fn text_in_a_picture_is_escaped() {
        let mut drawing = Drawing::default();
        drawing.text("b", (1.0, 2.0), "<b>&\"");
        assert_eq!(drawing.as_str(), "<text class=\"b\" x=\"1\" y=\"2\">&lt;b&gt;&amp;&quot;</text>");
    }
}
