//! What a source means by its columns, dates and names is remembered for it, and for nobody else.
use usecases::Error;
use usecases::import::{self, Field, How, MatchForm, NameForm, Order, Upload};
use uuid::Uuid;

use super::estate::{Estate, on};

fn send(estate: &Estate, source: &str, text: &str) -> terms::ImportId {
    let form = Upload {
        name: format!("{source}.csv"),
        bytes: text.as_bytes().to_vec(),
        kind: None,
        building: None,
        source: source.to_owned(),
        sheet: String::new(),
    };
    import::upload(
        estate.world(),
        &estate.seat,
        form,
        &Uuid::new_v4().to_string(),
    )
    .unwrap()
}

fn name(estate: &Estate, id: terms::ImportId, said: &str, meant: &str) -> Result<(), Error> {
    let form = NameForm {
        field: Field::Kind,
        said: said.to_owned(),
        meant: meant.to_owned(),
    };
    let once = Uuid::new_v4().to_string();
    import::say_name(estate.world(), &estate.seat, id, form, &once)
}

#[test]
fn two_sources_with_the_same_headings_are_each_read_their_own_way() {
    let estate = Estate::new();
    let list = |flat: u32| format!("Door,Sort,Put in\n{flat},Box A,03/04/2016\n");
    let fields = vec![Some(Field::Space), Some(Field::Kind), Some(Field::Fitted)];
    for (source, order, meant) in [
        ("North Office", Order::MonthFirst, "combi"),
        ("South Office", Order::DayFirst, "thermal store"),
    ] {
        let id = send(&estate, source, &list(1));
        let form = MatchForm {
            columns: fields.clone(),
            orders: [(2, order)].into(),
        };
        import::match_columns(estate.world(), &estate.seat, id, form, source).unwrap();
        let refused = name(&estate, id, "Box A", "what we call a box");
        assert!(
            matches!(refused, Err(Error::Invalid(w)) if w[0].field == "meant"),
            "a word that nobody knows means nothing"
        );
        name(&estate, id, "box  a", meant).unwrap();
        assert!(estate.view(id).preview.ready);
        import::drop_list(estate.world(), &estate.seat, id, &format!("drop {source}")).unwrap();
    }
    // The next lists need nothing said; the source may be typed another way.
    for (source, flat, kind, fitted) in [
        ("north  office", 2, "CB", "2016-03-04"),
        ("South Office", 3, "TS", "2016-04-03"),
    ] {
        let id = send(&estate, source, &list(flat));
        let view = estate.view(id);
        assert!(view.preview.ready, "{:?}", view.preview.problems);
        assert!(view.matching.how.iter().all(|how| *how == How::Remembered));
        estate.commit(id).unwrap();
        let units = estate.units();
        let unit = units
            .iter()
            .find(|u| u.space_name == format!("Flat {flat}"))
            .unwrap();
        assert_eq!(
            (unit.kind.as_str(), unit.installed.unwrap().0),
            (kind, on(fitted))
        );
    }
    // A name is known whatever the headings are; a list of no source knows none.
    let other = send(&estate, "North Office", "Flat,Kind,Serial\n4,Box A,S-1\n");
    assert!(estate.view(other).preview.ready);
    let nobody = estate.send("nobody.csv", b"Flat,Kind,Serial\n5,Box A,S-2\n");
    assert_eq!(estate.view(nobody).preview.counts.held, 1);
}
