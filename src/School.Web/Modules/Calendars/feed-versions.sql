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
-- What the school calls its kinds of lesson stands in titles.
CREATE CONSTRAINT TRIGGER settings_raise_feeds AFTER UPDATE ON diary.settings
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();
