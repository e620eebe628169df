//! A small reader of the SVG that the room writes: enough to see that it is well-formed.
use wording::Drawing;
use wording::drawings::svg::text_width;

/// One opening tag.
#[derive(Clone, Debug)]
pub struct Tag {
    /// The drawing it belongs to.
    pub drawing: String,
    /// "rect"
    pub name: String,
    /// As written.
    pub attributes: String,
    /// Width and height of the drawing it stands in.
    pub page: (f64, f64),
}

impl Tag {
    /// The value of an attribute, if it is there.
    pub fn get(&self, name: &str) -> Option<&str> {
        let written = format!(" {}", self.attributes);
        let start = written.find(&format!(" {name}=\""))? + name.len() + 3;
        self.attributes[start - 1..].split('"').next()
    }

    /// The value of an attribute that is a number.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.get(name)?.parse().ok()
    }
}

/// All SVG of a drawing, its key included.
pub fn svgs(drawing: &Drawing) -> Vec<&str> {
    let forms = [drawing.wide_svg.as_str(), drawing.narrow_svg.as_str()];
    let key = drawing.key.iter().map(|item| item.svg.as_str());
    forms
        .into_iter()
        .chain(key)
        .filter(|svg| !svg.is_empty())
        .collect()
}

/// The tags of `svg` as (name, attributes), checking that they nest and that text holds no bare `<` or `&`.
pub fn tags(svg: &str) -> Result<Vec<(String, String)>, String> {
    let mut open: Vec<String> = Vec::new();
    let mut all = Vec::new();
    let mut rest = svg;
    while let Some(start) = rest.find('<') {
        references(&rest[..start])?;
        let end = rest[start..].find('>').ok_or("a tag never ends")? + start;
        let inside = &rest[start + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = inside.strip_prefix('/') {
            let last = open.pop().ok_or("closes nothing")?;
            if last != name {
                return Err(format!("</{name}> closes <{last}>"));
            }
            continue;
        }
        let body = inside.strip_suffix('/').unwrap_or(inside);
        let (name, attributes) = body.split_once(' ').unwrap_or((body, ""));
        if !name.chars().all(|c| c.is_ascii_alphanumeric()) || name.is_empty() {
            return Err(format!("<{name}> is no name"));
        }
        if attributes.matches('"').count() % 2 != 0 || attributes.contains('<') {
            return Err(format!("quotes of <{name} {attributes}>"));
        }
        references(attributes)?;
        if !inside.ends_with('/') {
            open.push(name.to_owned());
        }
        all.push((name.to_owned(), attributes.to_owned()));
    }
    references(rest)?;
    if open.is_empty() {
        Ok(all)
    } else {
        Err(format!("left open: {open:?}"))
    }
}

fn references(text: &str) -> Result<(), String> {
    let known = ["&amp;", "&lt;", "&gt;", "&quot;", "&#39;"];
    for (at, _) in text.match_indices('&') {
        if !known
            .iter()
            .any(|reference| text[at..].starts_with(reference))
        {
            return Err(format!("bare & in {text}"));
        }
    }
    Ok(())
}

/// Every tag of every sample, or what is wrong with the first that is not well-formed.
pub fn all_tags(drawings: &[Drawing]) -> Result<Vec<Tag>, String> {
    let mut all = Vec::new();
    for drawing in drawings {
        for svg in svgs(drawing) {
            let found = tags(svg).map_err(|wrong| format!("{}: {wrong}", drawing.id))?;
            let mut here: Vec<Tag> = found
                .into_iter()
                .map(|(name, attributes)| Tag {
                    drawing: drawing.id.clone(),
                    name,
                    attributes,
                    page: (0.0, 0.0),
                })
                .collect();
            let page = here.first().and_then(page_size).ok_or("no view box")?;
            for tag in &mut here {
                tag.page = page;
            }
            all.append(&mut here);
        }
    }
    Ok(all)
}

fn page_size(tag: &Tag) -> Option<(f64, f64)> {
    let mut parts = tag.get("viewBox")?.split(' ').skip(2);
    Some((parts.next()?.parse().ok()?, parts.next()?.parse().ok()?))
}

/// The words of a drawing: their left and right ends, their base line, what they say.
pub fn words_of(svg: &str) -> Vec<(f64, f64, f64, String)> {
    let number = |tag: &str, name: &str| -> f64 {
        let written = tag.split(&format!(" {name}=\"")).nth(1);
        let written = written.and_then(|rest| rest.split('"').next());
        written.and_then(|w| w.parse().ok()).unwrap_or(f64::NAN)
    };
    svg.split("<text class=\"")
        .skip(1)
        .filter_map(|tag| {
            let (class, rest) = tag.split_once('"')?;
            let words = rest.split_once('>')?.1.split_once('<')?.0.to_owned();
            let size = if class.contains("small") { 13.5 } else { 15.0 };
            let (x, wide) = (number(rest, "x"), text_width(&words, size));
            let left = match class.rsplit(' ').next() {
                Some("m") => x - wide / 2.0,
                Some("e") => x - wide,
                _ => x,
            };
            Some((left, left + wide, number(rest, "y"), words))
        })
        .collect()
}
