//! The layout as a mixed-integer program.

use bunkside_planner::plan::End;
use bunkside_protocol::{Length, Position};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Solution, SolveOptions, Variable};

use super::Kind;
use super::wood::{Lies, Look, Sized, Wood, size};
use crate::allot::Demand;

/// Most branches that the solver looks at: the few programs that take more are left open, and the layout has to lie between what
/// it found and what it proved till then.
const NODES_MAX: u64 = 3_000;

/// Which boards lie in one place: a product and one of its lengths, or two end to end.
type Boards = Vec<(usize, usize)>;

/// Product, whether it stands on edge, and how its rings have to lie with which thickness and width.
type Way = (usize, bool, Sized);

/// Boards of one section that lie in a layer as high as they are.
struct Section {
    wide: Length,
    /// Products as they may lie.
    products: Vec<Way>,
}

/// A choice of boards at a place in a layer.
struct Choice {
    from: i64,
    to: i64,
    chosen: Variable,
}

/// The program of one log and order.
pub(super) struct Model<'w> {
    wood: &'w Wood<'w>,
    look: Look,
    problem: Problem,
    /// Of every product, what it may be chosen for and how many boards that takes.
    taken: Vec<Vec<(Variable, f64)>>,
    /// What a layer of each height may be chosen by.
    tall: Vec<(Length, Variable)>,
    /// How many choices of boards there are.
    pub(super) choices: usize,
}

impl<'w> Model<'w> {
    /// Of a log; room is looked at in a certain way.
    pub(super) fn new(wood: &'w Wood<'w>, look: Look) -> Self {
        let mut model = Self::empty(wood, look);
        model.layers();
        model.limits();
        model
    }

    /// Of several logs and what all of them are to give.
    pub(super) fn of_order(woods: &'w [Wood<'w>], look: Look, demands: &[Demand]) -> Self {
        let mut model = Self::empty(&woods[0], look);
        for wood in woods {
            model.wood = wood;
            model.layers();
        }
        for (demand, taken) in demands.iter().zip(&model.taken) {
            if let Some(most) = demand.most {
                let all = taken.iter().copied();
                model
                    .problem
                    .add_constraint(all, ComparisonOp::Le, f64::from(most));
            }
            let least = f64::from(demand.least);
            let short = model.problem.add_var(-(demand.missing as f64), (0.0, least));
            let all = taken.iter().copied().chain([(short, 1.0)]);
            model.problem.add_constraint(all, ComparisonOp::Ge, least);
        }
        model
    }

    fn empty(wood: &'w Wood<'w>, look: Look) -> Self {
        Self {
            wood,
            look,
            problem: Problem::new(OptimizationDirection::Maximize),
            taken: vec![Vec::new(); wood.job.boards.len()],
            tall: Vec::new(),
            choices: 0,
        }
    }

    /// Of a kind alone.
    pub(super) fn only(mut self, kind: Kind) -> Self {
        let (taken, most): (Vec<(Variable, f64)>, f64) = match kind {
            Kind::Fewer(boards) => (self.taken.concat(), f64::from(boards)),
            Kind::WithoutProduct(product) => (self.taken[usize::from(product)].clone(), 0.0),
            Kind::WithoutLayer(height) => {
                let layers = self.tall.iter().filter(|(tall, _)| *tall == height);
                (layers.map(|(_, chosen)| (*chosen, 1.0)).collect(), 0.0)
            }
            Kind::Owed => panic!("no one kind"),
        };
        // One choice may be of two products.
        let mut summed: Vec<(Variable, f64)> = Vec::new();
        for (chosen, boards) in taken {
            match summed.iter_mut().find(|(other, _)| *other == chosen) {
                Some((_, sum)) => *sum += boards,
                None => summed.push((chosen, boards)),
            }
        }
        self.problem.add_constraint(&summed, ComparisonOp::Le, most);
        self
    }

    /// What the solver finds that boards can be worth, and what it proves that they cannot be worth more than.
    pub(super) fn solve(&self) -> [i64; 2] {
        let mut options = SolveOptions::default();
        options.node_limit = Some(NODES_MAX);
        let solved = self.problem.solve_with(options).unwrap();
        let found = solved.solution().map_or(0.0, Solution::objective);
        let bound = if solved.is_optimal() {
            found
        } else {
            solved.stats().best_bound.unwrap()
        };
        // Boards are worth whole numbers.
        [found.round() as i64, (bound + 1e-3).floor() as i64]
    }

    /// A binary for each layer that may be; of those that take one height no more than one.
    fn layers(&mut self) {
        let mut talls: Vec<Length> = Vec::new();
        for (_, on_edge, (_, sized)) in self.laid() {
            let [tall, _] = size(sized, on_edge);
            if !talls.contains(&tall) {
                talls.push(tall);
            }
        }
        let top = self.wood.setup.shape.bounds().height.hi;
        let mut layers: Vec<Choice> = Vec::new();
        for tall in talls {
            let steps = self.wood.steps(tall);
            let most = (top - self.wood.lowest)
                .wide()
                .div_euclid(self.wood.job.step.wide());
            for from in 0..=most - steps {
                let chosen = self.problem.add_binary_var(0.0);
                let places = self.places(tall, from);
                if places.is_empty() {
                    continue;
                }
                self.apart(&places, Some(chosen));
                self.tall.push((tall, chosen));
                layers.push(Choice {
                    from,
                    to: from + steps,
                    chosen,
                });
            }
        }
        self.apart(&layers, None);
    }

    fn height(&self, steps: i64) -> Position {
        self.wood.lowest + Length::um(steps * self.wood.job.step.wide())
    }

    /// No more than `most` boards of a product.
    fn limits(&mut self) {
        for (spec, taken) in self.wood.job.boards.iter().zip(&self.taken) {
            if let Some(most) = spec.most {
                self.problem
                    .add_constraint(taken.iter().copied(), ComparisonOp::Le, f64::from(most));
            }
        }
    }

    /// Of choices that reach over where one of them begins no more than one is taken, and none but in a chosen layer.
    fn apart(&mut self, choices: &[Choice], within: Option<Variable>) {
        let mut begins: Vec<i64> = choices.iter().map(|choice| choice.from).collect();
        begins.sort_unstable();
        begins.dedup();
        for at in begins {
            let over = choices
                .iter()
                .filter(|choice| choice.from <= at && at < choice.to);
            let mut sum: Vec<(Variable, f64)> = over.map(|choice| (choice.chosen, 1.0)).collect();
            sum.extend(within.map(|layer| (layer, -1.0)));
            let most = if within.is_some() { 0.0 } else { 1.0 };
            self.problem.add_constraint(&sum, ComparisonOp::Le, most);
        }
    }

    /// Every product in each of its sizes, lying, and on edge where it may.
    fn laid(&self) -> impl Iterator<Item = Way> + use<'w> {
        let boards = self.wood.job.boards.iter().enumerate();
        boards.flat_map(|(product, spec)| {
            let edge = spec.on_edge && spec.width != spec.thickness;
            spec.sizes().flat_map(move |sized| {
                let lying = Some((product, false, sized));
                [lying, edge.then_some((product, true, sized))]
                    .into_iter()
                    .flatten()
            })
        })
    }

    /// The sections of boards that lie so high.
    fn sections(&self, tall: Length) -> Vec<Section> {
        let mut all: Vec<Section> = Vec::new();
        for way in self.laid() {
            let (_, on_edge, (_, sized)) = way;
            let [mine, wide] = size(sized, on_edge);
            if mine != tall {
                continue;
            }
            match all.iter_mut().find(|section| section.wide == wide) {
                Some(section) => section.products.push(way),
                None => all.push(Section {
                    wide,
                    products: vec![way],
                }),
            }
        }
        all
    }

    /// A binary for all that may lie anywhere in a layer.
    fn places(&mut self, tall: Length, floor: i64) -> Vec<Choice> {
        let mut places = Vec::new();
        let step = self.wood.job.step.wide();
        let across = self.wood.setup.shape.bounds().across;
        // Wane lets a board stand out of the log by less than itself.
        let first = (across.lo - Length::mm(100)).wide().div_euclid(step);
        let last = across.hi.wide().div_euclid(step);
        for section in self.sections(tall) {
            for from in first..=last {
                for boards in self.boards(&section, floor, from) {
                    let value =
                        |(product, length): &(usize, usize)| self.wood.job.boards[*product].values[*length];
                    let worth: i64 = boards.iter().map(value).sum();
                    let chosen = self.problem.add_binary_var(worth as f64);
                    self.choices += 1;
                    for product in 0..self.taken.len() {
                        let count = boards.iter().filter(|board| board.0 == product).count();
                        if count > 0 {
                            self.taken[product].push((chosen, count as f64));
                        }
                    }
                    places.push(Choice {
                        from,
                        to: from + self.wood.steps(section.wide),
                        chosen,
                    });
                }
            }
        }
        places
    }

    /// What may lie at a place: one board from whichever end, or two end to end. The same boards are told once.
    fn boards(&self, section: &Section, floor: i64, corner: i64) -> Vec<Boards> {
        let mut ends: [Boards; 2] = [Vec::new(), Vec::new()];
        for (product, on_edge, sized) in &section.products {
            let spec = &self.wood.job.boards[*product];
            for (number, length) in spec.lengths.iter().enumerate() {
                for (end, found) in [End::Near, End::Far].into_iter().zip(&mut ends) {
                    let lies = Lies {
                        spec,
                        length: *length,
                        on_edge: *on_edge,
                        sized: *sized,
                        end,
                        floor: self.height(floor),
                        corner: Position::um(corner * self.wood.job.step.wide()),
                    };
                    if self.wood.fits(&lies, self.look) && !found.contains(&(*product, number)) {
                        found.push((*product, number));
                    }
                }
            }
        }
        let mut all: Vec<Boards> = ends.iter().flatten().map(|board| vec![*board]).collect();
        let length = |board: &(usize, usize)| self.wood.job.boards[board.0].lengths[board.1];
        for near in &ends[0] {
            for far in &ends[1] {
                if length(near) + length(far) <= self.wood.usable.length() {
                    let mut both = vec![*near, *far];
                    both.sort_unstable();
                    all.push(both);
                }
            }
        }
        all.sort_unstable();
        all.dedup();
        all
    }
}
