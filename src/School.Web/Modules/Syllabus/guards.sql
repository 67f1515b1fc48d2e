-- What the model cannot say: what was recorded belongs to a lesson, a pupil and an edition, and its history is only added to.

ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);
ALTER TABLE syllabus.lesson_record_changes ADD CONSTRAINT lesson_record_changes_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);
ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
ALTER TABLE syllabus.mock_test_changes ADD CONSTRAINT mock_test_changes_mock_fk FOREIGN KEY (mock_test_id) REFERENCES syllabus.mock_tests (id);

ALTER TABLE syllabus.shared_forecasts ADD CONSTRAINT shared_forecasts_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);

CREATE TRIGGER editions_only_added BEFORE UPDATE OR DELETE ON syllabus.editions
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER lesson_record_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.lesson_record_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER mock_test_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.mock_test_changes
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
