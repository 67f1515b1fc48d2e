DROP FUNCTION diary.raise_day_versions(uuid, timestamptz, timestamptz);

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

CREATE OR REPLACE FUNCTION diary.entry_changed() RETURNS trigger LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION diary.test_day_changed() RETURNS trigger LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION diary.school_changed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    raised bigint;
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000000', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1
    RETURNING version INTO raised;
    PERFORM diary.tell_change('school', NULL, NULL, raised);
    RETURN NULL;
END $$;

CREATE OR REPLACE FUNCTION diary.pupil_changed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    raised bigint;
BEGIN
    INSERT INTO diary.day_versions (day, subject, version) VALUES ('2000-01-01', '00000000-0000-0000-0000-000000000001', 1)
    ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + 1
    RETURNING version INTO raised;
    PERFORM diary.tell_change('pupils', NULL, NULL, raised);
    RETURN NULL;
END $$;
