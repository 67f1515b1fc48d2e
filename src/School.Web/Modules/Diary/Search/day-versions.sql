-- Counts the changes of every day of every diary, so that no node offers times from a diary that it remembers and that has changed.
-- The counts rise when the transaction ends: with the change itself, and without holding their rows any longer than that.

-- Tells whoever listens, once the transaction has ended well. Behind the change itself stand its transaction, and what was over when it was told:
-- by them a node knows what it has heard of (Modules/Diary/Events/ToldUpTo.cs).
CREATE FUNCTION diary.tell_change(kind text, subject uuid, day date, version bigint) RETURNS void LANGUAGE sql AS $$
    SELECT pg_notify('day_versions', format('%s %s %s %s %s %s',
        kind, coalesce(subject::text, '-'), coalesce(day::text, '-'), version, pg_current_xact_id(), pg_current_snapshot()));
$$;

CREATE FUNCTION diary.raise_day_versions(kind text, who uuid, starts timestamptz, ends timestamptz) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    raised record;
BEGIN
    FOR raised IN
        INSERT INTO diary.day_versions (day, subject, version)
        SELECT day::date, who, 1
        FROM generate_series((starts AT TIME ZONE 'UTC')::date, (ends AT TIME ZONE 'UTC')::date, interval '1 day') AS day
        WHERE who IS NOT NULL
        ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1
        RETURNING day, subject, version
    LOOP
        PERFORM diary.tell_change(kind, raised.subject, raised.day, raised.version);
    END LOOP;
END $$;

-- For any table whose rows take up an instructor's time, and a car's, from starts_at to ends_at.
CREATE FUNCTION diary.entry_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        PERFORM diary.raise_day_versions('instructor', OLD.instructor_id, OLD.starts_at, OLD.ends_at);
        PERFORM diary.raise_day_versions('car', OLD.car_id, OLD.starts_at, OLD.ends_at);
    END IF;
    IF TG_OP <> 'DELETE' THEN
        PERFORM diary.raise_day_versions('instructor', NEW.instructor_id, NEW.starts_at, NEW.ends_at);
        PERFORM diary.raise_day_versions('car', NEW.car_id, NEW.starts_at, NEW.ends_at);
    END IF;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER lessons_raise_day_versions
    AFTER INSERT OR DELETE OR UPDATE ON diary.lessons
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.entry_changed();

-- The pupil's too: a test to which nobody of the school goes along takes up the pupil alone.
CREATE FUNCTION diary.test_day_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        PERFORM diary.raise_day_versions('instructor', OLD.instructor_id, OLD.blocked_from, OLD.blocked_until);
        PERFORM diary.raise_day_versions('car', OLD.car_id, OLD.blocked_from, OLD.blocked_until);
        PERFORM diary.raise_day_versions('pupil', OLD.pupil_id, OLD.blocked_from, OLD.blocked_until);
    END IF;
    IF TG_OP <> 'DELETE' THEN
        PERFORM diary.raise_day_versions('instructor', NEW.instructor_id, NEW.blocked_from, NEW.blocked_until);
        PERFORM diary.raise_day_versions('car', NEW.car_id, NEW.blocked_from, NEW.blocked_until);
        PERFORM diary.raise_day_versions('pupil', NEW.pupil_id, NEW.blocked_from, NEW.blocked_until);
    END IF;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER test_days_raise_day_versions
    AFTER INSERT OR DELETE OR UPDATE ON diary.test_days
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.test_day_changed();

-- For what holds on every day.
CREATE FUNCTION diary.school_changed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    raised bigint;
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000000', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1
    RETURNING version INTO raised;
    PERFORM diary.tell_change('school', NULL, NULL, raised);
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
-- Which area a pick-up lies in decides who comes there.
CREATE CONSTRAINT TRIGGER areas_raise_version AFTER INSERT OR DELETE OR UPDATE ON places.areas
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER area_districts_raise_version AFTER INSERT OR DELETE OR UPDATE ON places.area_districts
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER school_raise_version AFTER INSERT OR DELETE OR UPDATE ON people.school
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
CREATE CONSTRAINT TRIGGER travel_raise_version AFTER INSERT OR DELETE OR UPDATE ON travel.settings
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();

-- Who somebody is decides whether their lessons can take place, but not what is free; a new pupil has no lesson yet.
CREATE FUNCTION diary.pupil_changed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    raised bigint;
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000001', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1
    RETURNING version INTO raised;
    PERFORM diary.tell_change('pupils', NULL, NULL, raised);
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER pupils_raise_version AFTER DELETE OR UPDATE ON pupils.pupils
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.pupil_changed();
