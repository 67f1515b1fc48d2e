-- What the model cannot say: the database as the last guard against a double booking, and against rewriting history.
-- Constraint names are turned into sentences in ConstraintRefusals.cs.

ALTER TABLE diary.lessons ADD CONSTRAINT lessons_instructor_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(starts_at, ends_at) WITH &&) WHERE (state <> 'Cancelled');
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_pupil_once
    EXCLUDE USING gist (pupil_id WITH =, tstzrange(starts_at, ends_at) WITH &&) WHERE (state <> 'Cancelled');
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_car_once
    EXCLUDE USING gist (car_id WITH =, tstzrange(starts_at, ends_at) WITH &&) WHERE (state <> 'Cancelled');
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_state_facts CHECK (
    (state = 'Taught') = (minutes_taught IS NOT NULL)
    AND (state = 'Cancelled') = (cancelled_because IS NOT NULL)
    AND (chargeable IS NOT NULL) = (state IN ('Cancelled', 'Missed')));
-- Deferred, since a lesson and the first line of its history are added together.
ALTER TABLE diary.lesson_changes ADD CONSTRAINT lesson_changes_lesson_fk
    FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_once EXCLUDE USING gist (
    instructor_id WITH =, day WITH =, daterange("from", "to", '[]') WITH &&,
    int4range(extract(epoch FROM start)::int, extract(epoch FROM "end")::int) WITH &&);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(starts_at, ends_at) WITH &&);

ALTER TABLE cars.holdings ADD CONSTRAINT holdings_car_once
    EXCLUDE USING gist (car_id WITH =, daterange("from", "to", '[]') WITH &&);
ALTER TABLE cars.holdings ADD CONSTRAINT holdings_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);

ALTER TABLE pupils.pupils ADD CONSTRAINT pupils_usual_instructor_fk FOREIGN KEY (usual_instructor_id) REFERENCES people.instructors (id);
ALTER TABLE people.people ADD CONSTRAINT people_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE people.people ADD CONSTRAINT people_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE people.people ADD CONSTRAINT people_role_link CHECK (
    (role = 'Instructor') = (instructor_id IS NOT NULL) AND (role = 'Pupil') = (pupil_id IS NOT NULL));
ALTER TABLE people.api_tokens ADD CONSTRAINT api_tokens_person_fk FOREIGN KEY (person_id) REFERENCES people.people (id);
ALTER TABLE calendars.feeds ADD CONSTRAINT feeds_owner_fk FOREIGN KEY (owner_person_id) REFERENCES people.people (id);

CREATE FUNCTION records.refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of %.% are only ever added', TG_TABLE_SCHEMA, TG_TABLE_NAME;
END $$;
CREATE TRIGGER lesson_changes_only_added BEFORE UPDATE OR DELETE ON diary.lesson_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER audit_only_added BEFORE UPDATE OR DELETE ON records.audit
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
