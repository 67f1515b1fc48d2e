-- What the model cannot say. Who is taken when, and that nobody is taken twice, stands in occupied.sql.
-- Constraint names are turned into sentences in ConstraintRefusals.cs.

ALTER TABLE diary.lessons ADD CONSTRAINT lessons_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_state_facts CHECK (
    (state = 'Taught') = (minutes_taught IS NOT NULL)
    AND (state = 'Cancelled') = (cancelled_because IS NOT NULL)
    AND (state NOT IN ('Cancelled', 'Missed') OR charge_code IS NOT NULL)
    AND num_nulls(charge_code, charge_chargeable, charge_act, charge_start, charge_free_until, charge_at) IN (0, 6));
CREATE INDEX lessons_to_be_found ON diary.lessons (starts_at) WHERE pick_up_certainty = 'ToBeFound' OR drop_off_certainty = 'ToBeFound';
-- Deferred, since a lesson and the first line of its history are added together.
ALTER TABLE diary.lesson_changes ADD CONSTRAINT lesson_changes_lesson_fk
    FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id) DEFERRABLE INITIALLY DEFERRED;
CREATE TRIGGER lesson_changes_only_added BEFORE UPDATE OR DELETE ON diary.lesson_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

ALTER TABLE diary.test_days ADD CONSTRAINT test_days_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_one_car CHECK (NOT (own_car AND car_id IS NOT NULL));
-- Deferred, since a test day and the first line of its history are added together.
ALTER TABLE diary.test_day_changes ADD CONSTRAINT test_day_changes_test_day_fk
    FOREIGN KEY (test_day_id) REFERENCES diary.test_days (id) DEFERRABLE INITIALLY DEFERRED;
CREATE TRIGGER test_day_changes_only_added BEFORE UPDATE OR DELETE ON diary.test_day_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_once EXCLUDE USING gist (
    instructor_id WITH =, day WITH =, daterange("from", "to", '[]') WITH &&,
    int4range(extract(epoch FROM start)::int, extract(epoch FROM "end")::int) WITH &&);
ALTER TABLE diary.supervised_days ADD CONSTRAINT supervised_days_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(starts_at, ends_at) WITH &&);

ALTER TABLE diary.waiting ADD CONSTRAINT waiting_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.waiting ADD CONSTRAINT waiting_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.freed_slots ADD CONSTRAINT freed_slots_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.offers ADD CONSTRAINT offers_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE diary.proposals ADD CONSTRAINT proposals_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.swap_answers ADD CONSTRAINT swap_answers_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.swap_answers ADD CONSTRAINT swap_answers_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
