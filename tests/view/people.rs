//! What the pictures tell whoever stands at the mill.

use bunkside::view::Subject;

use super::{example, file, with_planned};

/// 1 m clear of the blade, which comes 0.51 m past the far end, and of its line: in the words of every card as in the drawing.
#[test]
fn words_and_drawing_put_the_second_person_at_one_place() {
    with_planned(&example("p-07"), |planned| {
        let subject = Subject::planned(planned);
        let report = file(&subject, "report.html");
        let words = "The blade comes 0.51 m past the far end: stand 1.6 m or more past that end, and 1.2 m or more to the exit side";
        assert_eq!(report.matches(words).count(), 7);
        let side = file(&subject, "side.svg");
        for told in ["second person, or further out", ">1.6 m<", ">1.2 m<", ">thrown<"] {
            assert!(side.contains(told), "{told}");
        }
    });
    with_planned(&example("g-04"), |planned| {
        assert!(!file(&Subject::planned(planned), "side.svg").contains("From above"));
    });
}

/// Dogs that hold are drawn from the side, at their bunks and in the key; a mill without any has none in its key.
#[test]
fn dogs_are_drawn_where_they_close() {
    with_planned(&example("p-07"), |planned| {
        let subject = Subject::planned(planned);
        let setting = file(&subject, "setting.svg");
        assert!(setting.contains("dog, closed"));
        assert_eq!(setting.matches("class=\"solid\"").count(), 2 + 2 + 1);
        let report = file(&subject, "report.html").replace('\u{a0}', " ");
        assert!(
            report.contains(
                "Dog 1, 0.2 m (7 7/8 in) from the near end, exit side: push it 56.6 mm (2 7/32 in) across to the log and close it"
            )
        );
    });
    with_planned(&example("g-04"), |planned| {
        assert!(!file(&Subject::planned(planned), "setting.svg").contains("dog"));
    });
}
