-- One table of what takes an instructor, a car or a pupil, whatever it is: lessons and test days fill it by trigger, and the
-- constraints that make a double booking impossible stand on it. Nobody writes it by hand.
-- The constraints are checked at the end of each statement. Who swaps lessons in one transaction says first:
-- SET CONSTRAINTS diary.lessons_instructor_once, diary.lessons_car_once, diary.lessons_pupil_once DEFERRED.

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
-- Times long past, to be cleared: nothing can be booked into them any more.
CREATE INDEX occupied_ends ON diary.occupied (upper(during));

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
