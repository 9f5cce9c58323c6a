//! Layouts that are known, put together by a linear program.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettingsBuilder, DefaultSolver, IPSolver, SolverStatus, SupportedConeT};

use super::{Demand, Pattern, Prices};

/// A layout of a log.
#[derive(Clone, Debug)]
pub(super) struct Known {
    pub(super) log: usize,
    pub(super) pattern: Pattern,
}

/// What the program says.
#[derive(Clone, Debug)]
pub(super) struct Mixed {
    /// How much of each layout is sawn, beside those that are known.
    pub(super) shares: Vec<f64>,
    /// What boards take up of the limits, and save of what is owed.
    pub(super) prices: Prices,
    /// What all brings, thousandths.
    pub(super) brings: f64,
}

/// Rows of the program, one entry after the other.
#[derive(Default)]
struct Rows {
    entries: Vec<(usize, usize, f64)>,
    limits: Vec<f64>,
}

impl Rows {
    fn row(&mut self, entries: impl IntoIterator<Item = (usize, f64)>, limit: f64) -> usize {
        let row = self.limits.len();
        self.entries
            .extend(entries.into_iter().map(|(column, value)| (row, column, value)));
        self.limits.push(limit);
        row
    }

    /// By columns, as the solver takes it.
    fn matrix(mut self, columns: usize) -> (CscMatrix<f64>, Vec<f64>) {
        self.entries.sort_by_key(|(row, column, _)| (*column, *row));
        let mut ends = vec![0; columns + 1];
        for (_, column, _) in &self.entries {
            ends[*column + 1] += 1;
        }
        for column in 0..columns {
            ends[column + 1] += ends[column];
        }
        let rows = self.entries.iter().map(|(row, _, _)| *row).collect();
        let values = self.entries.iter().map(|(_, _, value)| *value).collect();
        let matrix = CscMatrix::new(self.limits.len(), columns, ends, rows, values);
        (matrix, self.limits)
    }
}

/// What leaving a log costs that has to give something, in what the dearest layout brings: more than anything is worth.
const LEFT: f64 = 1e3;

/// Mixes layouts so that all together bring most: of each log no more than one in all, and no less of those that are told, of each
/// product no more than can be used, and what is owed and missing costs. None where the solver gives up.
pub(super) fn mix(known: &[&Known], logs: usize, demands: &[Demand], whole: &[usize]) -> Option<Mixed> {
    // The dearest layout is about one, so that numbers are of one size.
    let unit = known.iter().map(|one| one.pattern.worth).max()?.max(1) as f64;
    let owed: Vec<usize> = (0..demands.len())
        .filter(|product| is_owed(&demands[*product]))
        .collect();
    let mut cost: Vec<f64> = known
        .iter()
        .map(|one| -(one.pattern.worth as f64) / unit)
        .collect();
    cost.extend(owed.iter().map(|product| demands[*product].missing as f64 / unit));
    cost.extend(whole.iter().map(|_| LEFT));
    let mut rows = Rows::default();
    of_logs(&mut rows, known, logs, (whole, known.len() + owed.len()));
    let takes = |product: usize, sign: f64| {
        let all = known.iter().enumerate();
        all.filter_map(move |(column, one)| {
            let count = one.pattern.counts[product];
            (count > 0).then(|| (column, sign * f64::from(count)))
        })
    };
    let (mut most_rows, mut least_rows) = (Vec::new(), Vec::new());
    for (product, demand) in demands.iter().enumerate() {
        if let Some(most) = demand.most {
            most_rows.push((product, rows.row(takes(product, 1.0), f64::from(most))));
        }
    }
    for (number, product) in owed.iter().enumerate() {
        let short = (known.len() + number, -1.0);
        let least = -f64::from(demands[*product].least);
        least_rows.push((*product, rows.row(takes(*product, -1.0).chain([short]), least)));
    }
    for column in 0..cost.len() {
        rows.row([(column, -1.0)], 0.0);
    }
    let (matrix, limits) = rows.matrix(cost.len());
    let (duals, shares) = solve(&cost, &matrix, &limits)?;
    let price = |row: usize| (duals[row] * unit).round() as i64;
    let mut prices = Prices::none(demands.len());
    for (product, row) in most_rows {
        prices.most[product] = price(row);
    }
    for (product, row) in least_rows {
        prices.least[product] = price(row);
    }
    let brings = cost.iter().zip(&shares).map(|(cost, share)| -cost * share);
    Some(Mixed {
        brings: brings.sum::<f64>() * unit,
        shares: shares[..known.len()].to_vec(),
        prices: prices.within(demands),
    })
}

/// No more than one layout of each log, and no less of those that are told, whose own columns begin at one.
fn of_logs(rows: &mut Rows, known: &[&Known], logs: usize, (whole, first): (&[usize], usize)) {
    let mut of_log: Vec<Vec<usize>> = vec![Vec::new(); logs];
    for (column, one) in known.iter().enumerate() {
        of_log[one.log].push(column);
    }
    for own in &of_log {
        rows.row(own.iter().map(|column| (*column, 1.0)), 1.0);
    }
    for (number, log) in whole.iter().enumerate() {
        let own = of_log[*log].iter().map(|column| (*column, -1.0));
        rows.row(own.chain([(first + number, -1.0)]), -1.0);
    }
}

/// Whether a missing one costs.
const fn is_owed(demand: &Demand) -> bool {
    demand.least > 0 && demand.missing > 0
}

/// Least cost under rows that are all no more than their limits: what each row's limit is worth, and how much of each column there is.
fn solve(cost: &[f64], matrix: &CscMatrix<f64>, limits: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let columns = cost.len();
    let flat = CscMatrix::zeros((columns, columns));
    let cones = [SupportedConeT::NonnegativeConeT(limits.len())];
    let settings = DefaultSettingsBuilder::default().verbose(false).build().ok()?;
    let mut solver = DefaultSolver::new(&flat, cost, matrix, limits, &cones, settings).ok()?;
    solver.solve();
    let good = matches!(
        solver.solution.status,
        SolverStatus::Solved | SolverStatus::AlmostSolved
    );
    good.then(|| (solver.solution.z.clone(), solver.solution.x.clone()))
}
