-- What the model cannot say, as it was when this migration was written. As it is now it stands beside its module.

CREATE FUNCTION records.refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of %.% are only ever added', TG_TABLE_SCHEMA, TG_TABLE_NAME;
END $$;
CREATE TRIGGER audit_only_added BEFORE UPDATE OR DELETE ON records.audit
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

ALTER TABLE people.people ADD CONSTRAINT people_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE people.people ADD CONSTRAINT people_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE people.people ADD CONSTRAINT people_role_link CHECK (
    (role = 'Instructor') = (instructor_id IS NOT NULL) AND (role = 'Pupil') = (pupil_id IS NOT NULL));
ALTER TABLE people.api_tokens ADD CONSTRAINT api_tokens_person_fk FOREIGN KEY (person_id) REFERENCES people.people (id);

ALTER TABLE calendars.feeds ADD CONSTRAINT feeds_owner_fk FOREIGN KEY (owner_person_id) REFERENCES people.people (id);

ALTER TABLE cars.holdings ADD CONSTRAINT holdings_car_once
    EXCLUDE USING gist (car_id WITH =, daterange("from", "to", '[]') WITH &&);
ALTER TABLE cars.holdings ADD CONSTRAINT holdings_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);

ALTER TABLE pupils.pupils ADD CONSTRAINT pupils_usual_instructor_fk FOREIGN KEY (usual_instructor_id) REFERENCES people.instructors (id);
ALTER TABLE pupils.availability ADD CONSTRAINT availability_once EXCLUDE USING gist (
    pupil_id WITH =, day WITH =, int4range(extract(epoch FROM "from")::int, extract(epoch FROM "to")::int) WITH &&);

ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(left_at, arrived_at) WITH &&) WHERE (arrived_at IS NOT NULL);

ALTER TABLE diary.lessons ADD CONSTRAINT lessons_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);
ALTER TABLE diary.lessons ADD CONSTRAINT lessons_state_facts CHECK (
    (state = 'Taught') = (minutes_taught IS NOT NULL)
    AND (state = 'Cancelled') = (cancelled_because IS NOT NULL)
    AND (chargeable IS NOT NULL) = (state IN ('Cancelled', 'Missed')));
ALTER TABLE diary.lesson_changes ADD CONSTRAINT lesson_changes_lesson_fk
    FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id) DEFERRABLE INITIALLY DEFERRED;
CREATE TRIGGER lesson_changes_only_added BEFORE UPDATE OR DELETE ON diary.lesson_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

ALTER TABLE diary.test_days ADD CONSTRAINT test_days_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);
ALTER TABLE diary.test_days ADD CONSTRAINT test_days_one_car CHECK (NOT (own_car AND car_id IS NOT NULL));
ALTER TABLE diary.test_day_changes ADD CONSTRAINT test_day_changes_test_day_fk
    FOREIGN KEY (test_day_id) REFERENCES diary.test_days (id) DEFERRABLE INITIALLY DEFERRED;
CREATE TRIGGER test_day_changes_only_added BEFORE UPDATE OR DELETE ON diary.test_day_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.working_hours ADD CONSTRAINT working_hours_once EXCLUDE USING gist (
    instructor_id WITH =, day WITH =, daterange("from", "to", '[]') WITH &&,
    int4range(extract(epoch FROM start)::int, extract(epoch FROM "end")::int) WITH &&);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.time_off ADD CONSTRAINT time_off_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(starts_at, ends_at) WITH &&);

ALTER TABLE diary.waiting ADD CONSTRAINT waiting_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE diary.waiting ADD CONSTRAINT waiting_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.freed_slots ADD CONSTRAINT freed_slots_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.offers ADD CONSTRAINT offers_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE diary.covers ADD CONSTRAINT covers_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE diary.covers ADD CONSTRAINT covers_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id);

ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);
ALTER TABLE syllabus.lesson_record_changes ADD CONSTRAINT lesson_record_changes_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);
ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.mock_test_changes ADD CONSTRAINT mock_test_changes_mock_fk FOREIGN KEY (mock_test_id) REFERENCES syllabus.mock_tests (id);

CREATE TRIGGER editions_only_added BEFORE UPDATE OR DELETE ON syllabus.editions
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER lesson_record_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.lesson_record_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER mock_test_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.mock_test_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();

CREATE TABLE diary.occupied (
    entry_id uuid PRIMARY KEY,
    kind text NOT NULL CHECK (kind IN ('lesson', 'test')),
    instructor_id uuid,
    car_id uuid,
    pupil_id uuid NOT NULL,
    during tstzrange NOT NULL,
    CONSTRAINT lessons_instructor_once EXCLUDE USING gist (instructor_id WITH =, during WITH &&) DEFERRABLE INITIALLY IMMEDIATE,
    CONSTRAINT lessons_pupil_once EXCLUDE USING gist (pupil_id WITH =, during WITH &&) DEFERRABLE INITIALLY IMMEDIATE,
    CONSTRAINT lessons_car_once EXCLUDE USING gist (car_id WITH =, during WITH &&) DEFERRABLE INITIALLY IMMEDIATE);

CREATE FUNCTION diary.occupy(entry uuid, what text, instructor uuid, car uuid, pupil uuid, period tstzrange) RETURNS void LANGUAGE sql AS $$
    INSERT INTO diary.occupied (entry_id, kind, instructor_id, car_id, pupil_id, during) VALUES (entry, what, instructor, car, pupil, period)
    ON CONFLICT (entry_id) DO UPDATE SET
        instructor_id = excluded.instructor_id, car_id = excluded.car_id, pupil_id = excluded.pupil_id, during = excluded.during;
$$;

CREATE FUNCTION diary.occupy_lesson() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        DELETE FROM diary.occupied WHERE entry_id = OLD.id;
    ELSIF NEW.state = 'Cancelled' THEN
        DELETE FROM diary.occupied WHERE entry_id = NEW.id;
    ELSE
        PERFORM diary.occupy(NEW.id, 'lesson', NEW.instructor_id, NEW.car_id, NEW.pupil_id, tstzrange(NEW.starts_at, NEW.ends_at));
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER lessons_occupy AFTER INSERT OR DELETE OR UPDATE OF state, instructor_id, car_id, pupil_id, starts_at, ends_at ON diary.lessons
    FOR EACH ROW EXECUTE FUNCTION diary.occupy_lesson();

CREATE FUNCTION diary.occupy_test_day() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        DELETE FROM diary.occupied WHERE entry_id = OLD.id;
    ELSIF NEW.state = 'TakenOff' THEN
        DELETE FROM diary.occupied WHERE entry_id = NEW.id;
    ELSE
        PERFORM diary.occupy(NEW.id, 'test', NEW.instructor_id, NEW.car_id, NEW.pupil_id, tstzrange(NEW.blocked_from, NEW.blocked_until));
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER test_days_occupy AFTER INSERT OR DELETE OR UPDATE OF state, instructor_id, car_id, pupil_id, blocked_from, blocked_until ON diary.test_days
    FOR EACH ROW EXECUTE FUNCTION diary.occupy_test_day();

CREATE FUNCTION diary.raise_day_versions(who uuid, starts timestamptz, ends timestamptz) RETURNS void LANGUAGE sql AS $$
    INSERT INTO diary.day_versions (day, subject, version)
    SELECT day::date, who, 1
    FROM generate_series((starts AT TIME ZONE 'UTC')::date, (ends AT TIME ZONE 'UTC')::date, interval '1 day') AS day
    WHERE who IS NOT NULL
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1;
$$;

CREATE FUNCTION diary.entry_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        PERFORM diary.raise_day_versions(OLD.instructor_id, OLD.starts_at, OLD.ends_at);
        PERFORM diary.raise_day_versions(OLD.car_id, OLD.starts_at, OLD.ends_at);
    END IF;
    IF TG_OP <> 'DELETE' THEN
        PERFORM diary.raise_day_versions(NEW.instructor_id, NEW.starts_at, NEW.ends_at);
        PERFORM diary.raise_day_versions(NEW.car_id, NEW.starts_at, NEW.ends_at);
    END IF;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER lessons_raise_day_versions
    AFTER INSERT OR DELETE OR UPDATE ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.entry_changed();

CREATE FUNCTION diary.test_day_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        PERFORM diary.raise_day_versions(OLD.instructor_id, OLD.blocked_from, OLD.blocked_until);
        PERFORM diary.raise_day_versions(OLD.car_id, OLD.blocked_from, OLD.blocked_until);
    END IF;
    IF TG_OP <> 'DELETE' THEN
        PERFORM diary.raise_day_versions(NEW.instructor_id, NEW.blocked_from, NEW.blocked_until);
        PERFORM diary.raise_day_versions(NEW.car_id, NEW.blocked_from, NEW.blocked_until);
    END IF;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER test_days_raise_day_versions
    AFTER INSERT OR DELETE OR UPDATE ON diary.test_days
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.test_day_changed();

CREATE FUNCTION diary.school_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000000', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER settings_raise_version AFTER INSERT OR DELETE OR UPDATE ON diary.settings
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER working_hours_raise_version AFTER INSERT OR DELETE OR UPDATE ON diary.working_hours
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER time_off_raise_version AFTER INSERT OR DELETE OR UPDATE ON diary.time_off
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER cars_raise_version AFTER INSERT OR DELETE OR UPDATE ON cars.cars
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER off_road_raise_version AFTER INSERT OR DELETE OR UPDATE ON cars.off_road
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER holdings_raise_version AFTER INSERT OR DELETE OR UPDATE ON cars.holdings
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER instructors_raise_version AFTER INSERT OR DELETE OR UPDATE ON people.instructors
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER school_raise_version AFTER INSERT OR DELETE OR UPDATE ON people.school
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER travel_raise_version AFTER INSERT OR DELETE OR UPDATE ON travel.settings
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
