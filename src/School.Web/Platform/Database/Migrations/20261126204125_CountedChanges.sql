-- The pupil's too: a test to which nobody of the school goes along takes up the pupil alone.
CREATE OR REPLACE FUNCTION diary.test_day_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        PERFORM diary.raise_day_versions(OLD.instructor_id, OLD.blocked_from, OLD.blocked_until);
        PERFORM diary.raise_day_versions(OLD.car_id, OLD.blocked_from, OLD.blocked_until);
        PERFORM diary.raise_day_versions(OLD.pupil_id, OLD.blocked_from, OLD.blocked_until);
    END IF;
    IF TG_OP <> 'DELETE' THEN
        PERFORM diary.raise_day_versions(NEW.instructor_id, NEW.blocked_from, NEW.blocked_until);
        PERFORM diary.raise_day_versions(NEW.car_id, NEW.blocked_from, NEW.blocked_until);
        PERFORM diary.raise_day_versions(NEW.pupil_id, NEW.blocked_from, NEW.blocked_until);
    END IF;
    RETURN NULL;
END $$;

-- Who somebody is decides whether their lessons can take place, but not what is free; a new pupil has no lesson yet.
CREATE FUNCTION diary.pupil_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000001', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER pupils_raise_version AFTER DELETE OR UPDATE ON pupils.pupils
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.pupil_changed();

-- Counts the changes of all that a feed may tell of, so that one which has not changed is known without writing it.
-- The counts rise when the transaction ends: with the change itself, and without holding the feed's row any longer than that.

-- In one order, so that two transactions do not wait for each other.
CREATE FUNCTION calendars.raise_feeds(instructors uuid[], pupils uuid[], cars uuid[]) RETURNS void LANGUAGE sql AS $$
    UPDATE calendars.feeds SET version = version + 1 WHERE id IN (
        SELECT id FROM calendars.feeds
        WHERE revoked_at IS NULL AND (instructor_id = ANY (instructors) OR pupil_id = ANY (pupils) OR car_id = ANY (cars))
        ORDER BY id FOR UPDATE);
$$;

CREATE FUNCTION calendars.entry_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM calendars.raise_feeds(ARRAY[OLD.instructor_id, NEW.instructor_id], ARRAY[OLD.pupil_id, NEW.pupil_id], ARRAY[OLD.car_id, NEW.car_id]);
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER lessons_raise_feeds AFTER INSERT OR DELETE OR UPDATE ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.entry_changed();
CREATE CONSTRAINT TRIGGER test_days_raise_feeds AFTER INSERT OR DELETE OR UPDATE ON diary.test_days
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.entry_changed();

-- Names stand in titles and in other people's entries. Without a lesson there is none, so nobody new is told of.
CREATE FUNCTION calendars.name_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE calendars.feeds SET version = version + 1 WHERE id IN (
        SELECT id FROM calendars.feeds
        WHERE revoked_at IS NULL AND CASE TG_TABLE_NAME WHEN 'pupils' THEN pupil_id IS NULL OR pupil_id = OLD.id WHEN 'cars' THEN car_id = OLD.id ELSE true END
        ORDER BY id FOR UPDATE);
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER pupils_raise_feeds AFTER DELETE OR UPDATE ON pupils.pupils
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();
CREATE CONSTRAINT TRIGGER instructors_raise_feeds AFTER DELETE OR UPDATE ON people.instructors
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();
CREATE CONSTRAINT TRIGGER cars_raise_feeds AFTER DELETE OR UPDATE ON cars.cars
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();
CREATE CONSTRAINT TRIGGER school_raise_feeds AFTER INSERT OR DELETE OR UPDATE ON people.school
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();

-- Counts the changes of what each pupil learned, so that no node reckons with a course that it remembers and that has changed.
-- A lesson that is only booked, moved or cancelled changes nothing of it and costs nothing.

CREATE FUNCTION syllabus.learning_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO syllabus.learning_versions (pupil_id, version)
    SELECT DISTINCT pupil, 1 FROM unnest(ARRAY[OLD.pupil_id, NEW.pupil_id]) AS pupil WHERE pupil IS NOT NULL ORDER BY 1
    ON CONFLICT (pupil_id) DO UPDATE SET version = learning_versions.version + 1;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER lessons_raise_learning AFTER UPDATE ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (OLD.state = 'Taught' OR NEW.state = 'Taught') EXECUTE FUNCTION syllabus.learning_changed();
CREATE CONSTRAINT TRIGGER lessons_add_learning AFTER INSERT ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (NEW.state = 'Taught') EXECUTE FUNCTION syllabus.learning_changed();
CREATE CONSTRAINT TRIGGER lessons_take_learning AFTER DELETE ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (OLD.state = 'Taught') EXECUTE FUNCTION syllabus.learning_changed();
CREATE CONSTRAINT TRIGGER lesson_records_raise_learning AFTER INSERT OR DELETE OR UPDATE ON syllabus.lesson_records
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION syllabus.learning_changed();
CREATE CONSTRAINT TRIGGER private_practice_raise_learning AFTER INSERT OR DELETE OR UPDATE ON syllabus.private_practice
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION syllabus.learning_changed();
