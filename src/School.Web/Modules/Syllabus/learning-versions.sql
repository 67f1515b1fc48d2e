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
