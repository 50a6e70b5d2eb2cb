//! Several numbers of each green tested as one: the parameters of its curve, its cover visit by visit.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::anova::chance_of_f;
use super::fitted::fit;
use super::layers::{layers_of, replicated};
use super::linear::Basis;
use super::terms::{Role, Term, model_matrix};
use super::trial::Trial;
use super::untested::Untested;

/// What one term of the design does to several numbers at once.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProfileTest {
    /// The term.
    pub source: String,
    /// What it is judged against: `greens`, `main plots`, `greens within main plots`.
    pub between: &'static str,
    /// Against the scatter of greens, or of main plots.
    pub f: f64,
    /// Of the term.
    pub numerator_df: f64,
    /// Of the error.
    pub denominator_df: f64,
    /// Chance of so large an F where the term does nothing.
    pub p: f64,
}

/// How several numbers of a green become one test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Together {
    /// Two numbers as they are: Wilks's lambda, of which for two numbers an F follows exactly (Rao 1951, Bull.
    /// Int. Stat. Inst. 33:177–180).
    Pair,
    /// Many numbers, more than greens could tell apart: the one mixture of them in which the greens differ
    /// most, whichever levels they have. Since the mixture is chosen without a look at the levels, its F
    /// follows exactly (Läuter, Glimm & Kropf 1998, Ann. Stat. 26:1972–1988), however the numbers of one
    /// green hang together.
    Leading,
}

/// Tests every term of the design on the numbers of the greens, `values` in the order of the trial's greens;
/// greens without them are passed over. Blocks, covariates and main plots are allowed for, and greens are the
/// units, as in the analysis of a single number.
///
/// # Errors
///
/// [`Untested`]: why nothing is tested.
pub(super) fn test_profiles(
    trial: &Trial,
    values: &[Option<Vec<f64>>],
    together: Together,
) -> Result<Vec<ProfileTest>, Untested> {
    let first = |numbers: &Option<Vec<f64>>| numbers.as_ref()?.first().copied();
    let present: Vec<Option<f64>> = values.iter().map(first).collect();
    // What is left out and why is told where single numbers are.
    let mut notes = Vec::new();
    let units = replicated(trial, &present, &mut notes)?;
    let own: Vec<&Vec<f64>> = units
        .iter()
        .filter_map(|&unit| values[unit].as_ref())
        .collect();
    let n_numbers = own.iter().map(|numbers| numbers.len()).min().unwrap_or(0);
    let by_number: Vec<_> = (0..n_numbers)
        .map(|place| {
            let y: Vec<f64> = own.iter().map(|numbers| numbers[place]).collect();
            layers_of(trial, &units, &y, &mut notes)
        })
        .collect();
    let mut tests = Vec::new();
    for (place, layer) in by_number.first().into_iter().flatten().enumerate() {
        let terms = fit(layer, &mut notes)?.terms;
        let columns: Vec<DVector<f64>> = by_number
            .iter()
            .map(|layers| DVector::from_row_slice(&layers[place].y))
            .collect();
        let y = DMatrix::from_columns(&columns);
        tests.extend(of_stratum(&terms, &y, layer.between, together)?);
    }
    Ok(tests)
}

/// Sums of squares and products that `terms` leave unexplained, and how many columns they have.
fn unexplained(terms: &[&Term], y: &DMatrix<f64>) -> (DMatrix<f64>, usize) {
    let basis = Basis::of(&model_matrix(y.nrows(), terms.iter().copied()));
    let left = basis.residual_matrix(y);
    (left.tr_mul(&left), basis.rank())
}

fn of_stratum(
    terms: &[Term],
    y: &DMatrix<f64>,
    between: &'static str,
    together: Together,
) -> Result<Vec<ProfileTest>, Untested> {
    let all: Vec<&Term> = terms.iter().collect();
    let (error, rank) = unexplained(&all, y);
    let error_df = y.nrows().saturating_sub(rank);
    let needed = match together {
        Together::Pair => 2,
        Together::Leading => 1,
    };
    if error_df < needed {
        return Err(Untested::TooFewForCurves);
    }
    let mut tests = Vec::new();
    for (place, term) in terms.iter().enumerate() {
        if !matches!(term.role, Role::Treatment(_)) {
            continue;
        }
        let others = terms
            .iter()
            .enumerate()
            .filter(|(idx, other)| *idx != place && !other.contains(term));
        let mut compared: Vec<&Term> = others.map(|(_, other)| other).collect();
        let (without, rank_without) = unexplained(&compared, y);
        compared.push(term);
        let (with, rank_with) = unexplained(&compared, y);
        if rank_with == rank_without {
            continue;
        }
        let total = without - with + &error;
        let f = f_statistic(
            &error,
            &total,
            rank_with - rank_without,
            error_df,
            together,
            y,
        );
        let (f, numerator_df, denominator_df) = f.ok_or(Untested::AlikeInAll)?;
        tests.push(ProfileTest {
            source: term.label.clone(),
            between,
            f,
            numerator_df,
            denominator_df,
            p: chance_of_f(f, numerator_df, denominator_df),
        });
    }
    Ok(tests)
}

/// Scatter below this part of the numbers themselves is rounding.
const ROUNDING: f64 = 1e-8;

/// F with its degrees of freedom; `None` where nothing but rounding is left.
fn f_statistic(
    error: &DMatrix<f64>,
    total: &DMatrix<f64>,
    term_df: usize,
    error_df: usize,
    together: Together,
    y: &DMatrix<f64>,
) -> Option<(f64, f64, f64)> {
    let scatters = |column: &usize| {
        let least = (ROUNDING * y.column(*column).amax()).powi(2) * y.nrows() as f64;
        error[(*column, *column)] > least
    };
    let scattering: Vec<usize> = (0..y.ncols()).filter(scatters).collect();
    let (term_df, error_df) = (term_df as f64, error_df as f64);
    let of_mixture = |mixture: &DVector<f64>| {
        let left = mixture.dot(&(error * mixture));
        let explained = (mixture.dot(&(total * mixture)) - left).max(0.0);
        let f = explained / term_df / (left / error_df);
        f.is_finite().then_some((f, term_df, error_df))
    };
    match (together, scattering.as_slice()) {
        (_, []) => None,
        (_, [only]) => of_mixture(&DVector::from_fn(y.ncols(), |place, _| {
            f64::from(u8::from(place == *only))
        })),
        (Together::Pair, _) => {
            let root = (error.determinant() / total.determinant())
                .clamp(0.0, 1.0)
                .sqrt();
            let f = (1.0 - root) / root * (error_df - 1.0) / term_df;
            f.is_finite()
                .then_some((f, 2.0 * term_df, 2.0 * (error_df - 1.0)))
        }
        (Together::Leading, _) => {
            let decomposed = total.clone().symmetric_eigen();
            let leading = decomposed.eigenvalues.imax();
            of_mixture(&decomposed.eigenvectors.column(leading).into_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::terms::Factor;
    use crate::course::GreenId;

    /// Three levels in four blocks.
    fn blocks() -> Trial {
        let factor = |name: &str, n: usize, of: &dyn Fn(usize) -> usize| Factor {
            name: name.to_owned(),
            levels: (0..n).map(|level| level.to_string()).collect(),
            of: (0..12).map(of).collect(),
        };
        Trial {
            greens: (0..12)
                .map(|unit| GreenId::new(&format!("G{unit}")).unwrap())
                .collect(),
            factors: vec![factor("rate", 3, &|unit| unit % 3)],
            block: Some(factor("block", 4, &|unit| unit / 3)),
            main_plot: None,
            covariates: Vec::new(),
            notes: Vec::new(),
        }
    }

    const NUMBERS: [[f64; 3]; 12] = [
        [31.2, 0.121, 55.0],
        [33.0, 0.118, 50.4],
        [36.1, 0.115, 44.0],
        [30.1, 0.125, 57.3],
        [34.4, 0.120, 48.8],
        [35.0, 0.112, 46.1],
        [32.8, 0.116, 52.0],
        [33.9, 0.124, 51.1],
        [37.2, 0.119, 42.6],
        [29.9, 0.119, 58.8],
        [31.5, 0.113, 53.9],
        [34.9, 0.121, 47.0],
    ];

    fn tested(n_numbers: usize, together: Together) -> ProfileTest {
        let values: Vec<Option<Vec<f64>>> = NUMBERS
            .iter()
            .map(|row| Some(row[..n_numbers].to_vec()))
            .collect();
        test_profiles(&blocks(), &values, together)
            .unwrap()
            .remove(0)
    }

    #[test]
    fn two_numbers_in_blocks_agree_with_statsmodels() {
        // MANOVA.from_formula("a + b ~ C(block) + C(rate)").mv_test(), Wilks' lambda, statsmodels 0.15.
        let found = tested(2, Together::Pair);
        assert!((found.f / WILKS.0 - 1.0).abs() < 1e-8, "{found:?}");
        assert_eq!((found.numerator_df, found.denominator_df), (4.0, 10.0));
        assert!((found.p - WILKS.1).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn the_leading_mixture_agrees_with_numbers_worked_out_elsewhere() {
        // NumPy's eigh of the products of term and error, and SciPy's F of that mixture in blocks.
        let found = tested(3, Together::Leading);
        assert!((found.f / LEADING.0 - 1.0).abs() < 1e-8, "{found:?}");
        assert_eq!((found.numerator_df, found.denominator_df), (2.0, 6.0));
        assert!((found.p - LEADING.1).abs() < 1e-9, "{found:?}");
    }

    /// F, p.
    const WILKS: (f64, f64) = (6.507_225_959_388, 0.007_597_229_944_24);
    const LEADING: (f64, f64) = (42.262_390_575_971, 0.000_291_173_133_674);

    #[test]
    fn greens_that_are_all_alike_are_not_judged() {
        let values = vec![Some(vec![30.0, 0.1]); 12];
        let why = test_profiles(&blocks(), &values, Together::Pair).unwrap_err();
        assert_eq!(why, Untested::AllAlike);
    }
}
