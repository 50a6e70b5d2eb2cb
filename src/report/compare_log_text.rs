//! What the log put on the compared greens, for a terminal.

use super::columns::Side;
use super::compare_text::{Text, column};
use super::compare_words::decimal;
use super::format::visible;
use crate::compare::{GreenInputs, Inputs, nutrient_unit};
use crate::course::DisplayUnits;

/// To a hundredth, 0.625 as 0.63 whichever side of it the machine's fractions lie.
fn nutrient(amount: f64) -> String {
    decimal(amount + 1e-9, 2)
}

/// Greens that were given the same, in their order.
fn alike(greens: &[GreenInputs]) -> Vec<(String, &GreenInputs)> {
    let mut groups: Vec<Vec<&GreenInputs>> = Vec::new();
    for green in greens {
        let same = |group: &&mut Vec<&GreenInputs>| {
            GreenInputs {
                green: group[0].green.clone(),
                ..green.clone()
            } == *group[0]
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(green),
            None => groups.push(vec![green]),
        }
    }
    let n_groups = groups.len();
    let name = |group: &Vec<&GreenInputs>| match group.as_slice() {
        all if n_groups == 1 && all.len() > 1 => format!("all {} greens", all.len()),
        [one, two, rest @ ..] if rest.len() > 1 => {
            format!("{}, {} and {} more", one.green, two.green, rest.len())
        }
        some => {
            let ids: Vec<String> = some.iter().map(|green| green.green.to_string()).collect();
            ids.join(", ")
        }
    };
    groups
        .iter()
        .map(|group| (visible(&name(group)), group[0]))
        .collect()
}

/// Nutrients and water by green.
pub(super) fn given(text: &mut Text, inputs: &Inputs, units: DisplayUnits) {
    let (unit, one) = nutrient_unit(units);
    let (water_unit, millimetres_each, decimals) = match units {
        DisplayUnits::Us => ("inches", 25.4, 1),
        DisplayUnits::Metric => ("mm", 1.0, 0),
    };
    text.line(&format!(
        "What the log put on ({unit}; water in {water_unit})"
    ));
    let greens = alike(&inputs.greens);
    let cells =
        |of: &dyn Fn(&GreenInputs) -> String| greens.iter().map(|(_, row)| of(row)).collect();
    let water = |value: Option<f64>| {
        value.map_or("–".to_owned(), |mm| {
            decimal(mm / millimetres_each, decimals)
        })
    };
    text.table(&[
        column(
            "green",
            Side::Left,
            greens.iter().map(|(names, _)| names.clone()).collect(),
        ),
        column(
            "N",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.n_g_m2 * one)),
        ),
        column(
            "P2O5",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.p2o5_g_m2 * one)),
        ),
        column(
            "K2O",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.k2o_g_m2 * one)),
        ),
        column(
            "irrigation",
            Side::Right,
            cells(&|row| water(row.irrigation_mm)),
        ),
        column("rain", Side::Right, cells(&|row| water(row.rain_mm))),
        column(
            "evapotranspiration",
            Side::Right,
            cells(&|row| water(row.evapotranspiration_mm)),
        ),
        column(
            "irrigation / evapotranspiration",
            Side::Right,
            cells(
                &|row| match (row.irrigation_mm, row.evapotranspiration_mm) {
                    (Some(water), Some(et)) if et > 0.0 => {
                        format!("{}%", decimal(100.0 * water / et, 0))
                    }
                    _ => "–".to_owned(),
                },
            ),
        ),
    ]);
    if let Some(by) = inputs.evapotranspiration_by {
        text.indented(&format!("Reference evapotranspiration of grass by {by}. New sprigs are often given 150% of it (common practice)."));
    }
    if inputs.names_products {
        text.indented("The label is the law: follow it and local codes, and have licensed applicators put products on.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_sum_at_planting_is_shown_as_it_is_quoted() {
        // 0.63 lb N, 0.58 lb P2O5 and 0.25 lb K2O per 1,000 ft² (common practice).
        assert_eq!(
            [0.625, 0.583_33, 0.25].map(nutrient),
            ["0.63", "0.58", "0.25"]
        );
    }
}
