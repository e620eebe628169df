//! The cold-night drill against what can be worked out by hand, and its order: more help is never worse.
use dependability::drill::{
    Change, Cover, Estate, Fallible, Group, NIGHTS, Prices, Supply, Together, changes, drill,
};

const WINTERS: usize = 10_000;

fn unit(expected: f64, inv_size: f64, needs: &[(usize, f64)]) -> Fallible {
    Fallible {
        expected,
        inv_size,
        shared: Vec::new(),
        calendar: 0,
        needs: needs.to_vec(),
    }
}

/// Every home with a unit of its own.
fn flats(units: Vec<Fallible>, parts: Vec<Supply>) -> Estate {
    let groups = (0..units.len())
        .map(|i| Group {
            units: vec![i],
            needed: 1,
            homes: vec![i],
        })
        .collect();
    Estate {
        homes: units.len(),
        units,
        parts,
        groups,
        calendars: vec![vec![1.0; NIGHTS]],
        doubts: 0,
        together: Vec::new(),
    }
}

fn cover() -> Cover {
    Cover {
        engineers: 50,
        weekend_engineers: 50,
        visits_each: 10,
        heaters: 0,
        heaters_a_home: 2,
        spells: 0.0,
        spell_nights: 5,
        spell_factor: 1.0,
    }
}

fn close(found: f64, known: f64, sd: f64) {
    let reach = 4.0 * sd / (WINTERS as f64).sqrt();
    assert!(
        (found - known).abs() < reach,
        "{found} where {known} was to be found, give or take {reach}"
    );
}

#[test]
fn with_nobody_on_cover_a_home_is_cold_when_its_unit_fails_at_all() {
    let nobody = Cover {
        engineers: 0,
        weekend_engineers: 0,
        ..cover()
    };
    for (m, theta) in [(0.2, 0.0), (0.2, 0.8), (1.5, 0.5)] {
        let found = drill(
            &flats(vec![unit(m, theta, &[])], Vec::new()),
            &nobody,
            WINTERS,
            3,
        )
        .unwrap();
        // Chance of at least one: Poisson, or negative binomial with size 1/theta.
        let known = if theta == 0.0 {
            1.0 - f64::exp(-m)
        } else {
            1.0 - (1.0_f64 + theta * m).powf(-1.0 / theta)
        };
        close(found.short.chance(), known, (known * (1.0 - known)).sqrt());
        assert!(found.short.ci95.0 < known && known < found.short.ci95.1);
    }
}

/// Homes without heating on the worst night: mean and variance over the winters.
fn moments(worst: &[f64]) -> (f64, f64) {
    let mean: f64 = worst.iter().enumerate().map(|(k, p)| k as f64 * p).sum();
    let square = |(k, p): (usize, &f64)| (k as f64 - mean).powi(2) * p;
    (mean, worst.iter().enumerate().map(square).sum())
}

/// With nobody on cover and a unit a home, the number of cold homes is binomial given what all units share; mixed over
/// F = exp(s g − s²/2) its mean is N E p(F) and its variance N E p (1 − E p) + N (N − 1) Var p(F), p(F) = 1 − exp(−m F)
/// (the law of total variance). The means over g are taken here by the rectangle rule on ±8, no code in common with the
/// drill; private doubt of the same law, each unit with a doubt of its own, leaves the mean and loses the last term.
#[test]
fn what_all_units_share_widens_the_winters_and_leaves_their_mean() {
    let nobody = Cover {
        engineers: 0,
        weekend_engineers: 0,
        ..cover()
    };
    let (homes, m, s) = (40, 0.15, 0.6);
    let drilled = |own: bool| {
        let doubt = |i: usize| if own { i } else { 0 };
        let units = (0..homes).map(|i| Fallible {
            shared: vec![(doubt(i), s)],
            ..unit(m, 0.0, &[])
        });
        let estate = Estate {
            doubts: if own { homes } else { 1 },
            ..flats(units.collect(), Vec::new())
        };
        drill(&estate, &nobody, WINTERS, 11).unwrap()
    };
    let over = |of: &dyn Fn(f64) -> f64| -> f64 {
        let step = 0.001;
        (-8_000..=8_000)
            .map(|i| {
                let g = f64::from(i) * step;
                let p = 1.0 - (-m * (s * g - s * s / 2.0).exp()).exp();
                of(p) * (-g * g / 2.0).exp() * step / std::f64::consts::TAU.sqrt()
            })
            .sum()
    };
    let n = homes as f64;
    let (p, square) = (over(&|p| p), over(&|p| p * p));
    let (alone, together) = (
        n * p * (1.0 - p),
        n * p * (1.0 - p) + n * (n - 1.0) * (square - p * p),
    );
    let (shared, own) = (drilled(false), drilled(true));
    let ((mean, variance), (own_mean, own_variance)) =
        (moments(&shared.worst), moments(&own.worst));
    close(mean, n * p, together.sqrt());
    close(own_mean, n * p, alone.sqrt());
    assert!(variance > 1.5 * own_variance, "{variance}, {own_variance}");
    // A variance over 10,000 winters has a relative error of about 2 %; the long right tail doubles it.
    assert!(
        (variance / together - 1.0).abs() < 0.12,
        "{variance} {together}"
    );
    assert!(
        (own_variance / alone - 1.0).abs() < 0.12,
        "{own_variance} {alone}"
    );
    let none = over(&|p| (1.0 - p).powi(homes as i32));
    close(shared.worst[0], none, (none * (1.0 - none)).sqrt());
    assert!(shared.levels[4].homes > own.levels[4].homes);
}

/// Two units, one needed, failures of both at once (shocks of Marshall and Olkin, 1967, from memory): both have failed by
/// the winter's end with the chance 1 − e^(−cλ)(1 − q²), q = 1 − e^(−λ(1 − c)).
#[test]
fn a_common_cause_takes_the_spare_as_the_shock_model_has_it() {
    let nobody = Cover {
        engineers: 0,
        weekend_engineers: 0,
        ..cover()
    };
    let rate = 0.6;
    for common in [0.0, 0.1, 0.5, 1.0] {
        let estate = Estate {
            units: vec![unit(rate, 0.0, &[]), unit(rate, 0.0, &[])],
            groups: vec![Group {
                units: vec![0, 1],
                needed: 1,
                homes: vec![0],
            }],
            homes: 1,
            together: vec![Together {
                units: vec![0, 1],
                common,
            }],
            ..flats(Vec::new(), Vec::new())
        };
        let found = drill(&estate, &nobody, WINTERS, 7).unwrap();
        let q = 1.0 - f64::exp(-rate * (1.0 - common));
        let known = 1.0 - f64::exp(-common * rate) * (1.0 - q * q);
        close(found.short.chance(), known, (known * (1.0 - known)).sqrt());
    }
}

#[test]
fn a_plant_with_units_to_spare_is_short_when_more_fail_than_it_can_spare() {
    let nobody = Cover {
        engineers: 0,
        weekend_engineers: 0,
        ..cover()
    };
    let estate = Estate {
        units: (0..3).map(|_| unit(0.4, 0.0, &[])).collect(),
        groups: vec![Group {
            units: vec![0, 1, 2],
            needed: 2,
            homes: (0..40).collect(),
        }],
        ..flats(Vec::new(), Vec::new())
    };
    let found = drill(
        &Estate {
            homes: 40,
            ..estate
        },
        &nobody,
        WINTERS,
        5,
    )
    .unwrap();
    let p = 1.0 - f64::exp(-0.4);
    let known = 3.0 * p * p * (1.0 - p) + p * p * p;
    close(found.short.chance(), known, 0.5);
    // All forty or none.
    assert_eq!(found.worst.len(), 41);
    assert!((found.worst[0] + found.worst[40] - 1.0).abs() < 1e-9);
}

#[test]
fn nights_without_heating_follow_from_noon_and_the_days_a_part_takes() {
    // A fault after noon waits a night; one that needs a part waits for it: lead and, of half of them, a night more.
    for lead in [0, 3, 7] {
        let parts = vec![Supply {
            lead_days: lead,
            on_van: lead == 0,
        }];
        let estate = flats(
            (0..20).map(|_| unit(0.3, 0.0, &[(0, 1.0)])).collect(),
            parts,
        );
        let found = drill(&estate, &cover(), WINTERS, 9).unwrap();
        let nights = found.cold_nights / found.faults;
        // Faults are even over 182 days; one that takes d nights meets the winter's end in d − 1 of them.
        let d = f64::from(lead);
        let of = |d: f64| d - (d * (d - 1.0) / 2.0).max(0.0) / 182.0;
        let known = 0.5 * (of(d) + of(d + 1.0));
        assert!(
            (nights / known - 1.0).abs() < 0.02,
            "{nights} nights a fault, {known} to be found"
        );
    }
}

#[test]
fn cold_spells_move_faults_and_add_none() {
    let spells = Cover {
        spells: 2.0,
        spell_nights: 6,
        spell_factor: 3.0,
        ..cover()
    };
    let estate = flats((0..30).map(|_| unit(0.3, 0.0, &[])).collect(), Vec::new());
    let (even, cold) = (
        drill(&estate, &cover(), WINTERS, 1).unwrap(),
        drill(&estate, &spells, WINTERS, 1).unwrap(),
    );
    close(even.faults, 9.0, 3.0);
    // Spells come by chance: their number adds its own spread.
    close(cold.faults, 9.0, 4.0);
    assert!(cold.levels[4].homes >= even.levels[4].homes);
}

fn slab() -> (Estate, Cover, Prices) {
    let parts = vec![
        Supply {
            lead_days: 4,
            on_van: false,
        },
        Supply {
            lead_days: 2,
            on_van: false,
        },
        Supply {
            lead_days: 9,
            on_van: false,
        },
    ];
    let units = (0..60)
        .map(|_| unit(0.25, 0.5, &[(0, 0.4), (1, 0.2), (2, 0.1)]))
        .collect();
    let thin = Cover {
        engineers: 1,
        weekend_engineers: 0,
        visits_each: 4,
        heaters: 4,
        spells: 2.0,
        spell_factor: 2.0,
        ..cover()
    };
    (
        flats(units, parts),
        thin,
        Prices {
            heater: 4_000,
            engineer: 900_000,
            parts: vec![15_000, 22_000, 60_000],
        },
    )
}

#[test]
fn levels_rise_with_the_winters_and_the_same_seed_says_the_same() {
    let (estate, cover, _) = slab();
    let found = drill(&estate, &cover, 4_000, 1).unwrap();
    assert_eq!(found, drill(&estate, &cover, 4_000, 1).unwrap());
    assert!(found.levels.windows(2).all(|w| w[0].homes <= w[1].homes));
    assert!(
        found
            .levels
            .iter()
            .all(|l| l.ci95.0 <= l.homes && l.homes <= l.ci95.1)
    );
    assert!((found.worst.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    let fifth: f64 = found.worst[found.levels[1].homes as usize..].iter().sum();
    assert!(fifth >= 0.2, "reached in {fifth} of winters");
}

#[test]
fn what_is_added_never_makes_it_worse_and_the_cheapest_change_is_tight() {
    let (estate, cover, prices) = slab();
    let run = (4_000, 1);
    let found = changes(&estate, &cover, &prices, run).unwrap();
    assert!(
        !found.too_rare && found.now.happened > 20,
        "{:?}",
        found.now
    );
    // Heater, engineer, three parts.
    assert_eq!(found.single.len(), 5);
    for step in &found.single {
        assert!(step.short.happened <= found.now.happened, "{step:?}");
    }
    let cheapest = found.cheapest.expect("heaters alone reach it");
    assert!(
        cheapest.short.happened * 10 <= found.now.happened,
        "{cheapest:?}"
    );
    assert_eq!(cheapest.price, cheapest.change.price(&prices));
    // Run anew with the change made, it says the same; with one home's heaters fewer, it is not reached.
    let made = |change: &Change, fewer: u32| {
        let mut changed = estate.clone();
        change
            .parts
            .iter()
            .for_each(|p| changed.parts[*p].on_van = true);
        let more = Cover {
            engineers: cover.engineers + change.engineers,
            weekend_engineers: cover.weekend_engineers + change.engineers,
            heaters: cover.heaters + change.heaters - fewer,
            ..cover
        };
        drill(&changed, &more, run.0, run.1).unwrap().short.happened
    };
    assert_eq!(made(&cheapest.change, 0), cheapest.short.happened);
    if cheapest.change.heaters >= 2 {
        assert!(made(&cheapest.change, 2) * 10 > found.now.happened);
    }
    // Heaters alone are one of the ways tried, so that the cheapest is no dearer.
    let alone = (1..200_u32).map(|h| 2 * h).find(|h| {
        made(
            &Change {
                heaters: *h,
                ..Change::default()
            },
            0,
        ) * 10
            <= found.now.happened
    });
    assert!(alone.is_some_and(|h| cheapest.price <= i64::from(h) * prices.heater));
}

#[test]
fn what_is_too_rare_to_tell_is_called_so_and_nonsense_is_refused() {
    let (mut estate, mut cover, prices) = slab();
    cover.heaters = 400;
    let found = changes(&estate, &cover, &prices, (500, 1)).unwrap();
    assert!(found.too_rare && found.cheapest.is_none());
    assert_eq!(found.now.once_in(), None);
    assert!(found.now.once_in_ci95().0 > 100.0);
    estate.units[0].expected = f64::NAN;
    assert!(
        drill(&estate, &cover, 10, 1)
            .unwrap_err()
            .to_string()
            .contains("failures expected")
    );
    estate.units[0].expected = 0.1;
    estate.groups[0].needed = 2;
    assert!(drill(&estate, &cover, 10, 1).is_err());
    estate.groups[0].needed = 1;
    estate.units[0].shared = vec![(0, 0.1)];
    assert!(drill(&estate, &cover, 10, 1).is_err(), "no such doubt");
    estate.units[0].shared.clear();
    let plant = Together {
        units: vec![0, 1],
        common: 0.1,
    };
    estate.together = vec![plant.clone(), plant];
    assert!(
        drill(&estate, &cover, 10, 1)
            .unwrap_err()
            .to_string()
            .contains("plants a unit stands in")
    );
    estate.together.clear();
    cover.visits_each = 0;
    assert!(drill(&estate, &cover, 10, 1).is_err());
}
