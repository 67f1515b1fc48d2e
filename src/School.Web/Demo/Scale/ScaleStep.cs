using NodaTime;
using Npgsql;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Modules.Syllabus.Readiness;

namespace School.Web.Demo.Scale;

/// <summary>Writes what one step made, in the caller's transaction.</summary>
internal sealed class ScaleStep(RowCopy copy, NpgsqlConnection connection)
{
    // After what they refer to.
    private static readonly Type[] Order =
    [
        typeof(PostcodeRow), typeof(DistrictRow), typeof(PostcodeSet), typeof(SchoolPlace), typeof(Area), typeof(AreaDistrict),
        typeof(Instructor), typeof(Car), typeof(Holding), typeof(WorkingHoursRow), typeof(TimeOffRow), typeof(Pupil), typeof(PupilPlace), typeof(PupilAvailability), typeof(Person),
        typeof(Lesson), typeof(LessonChange), typeof(LessonRecord), typeof(LessonRecordChange), typeof(TestDay), typeof(TestDayChange), typeof(MockTest),
        typeof(SupervisedDay), typeof(SharedForecast),
        typeof(FreedSlot), typeof(WaitingEntry), typeof(OfferedSlot), typeof(Message), typeof(AuditEntry),
    ];

    public void Write(ScaleRows rows)
    {
        if (rows.Kinds.Except(Order).FirstOrDefault() is { } forgotten)
        {
            throw new InvalidOperationException($"Nobody writes the rows of {forgotten.Name}.");
        }

        foreach (var kind in Order)
        {
            if (kind == typeof(Lesson))
            {
                WriteLessons(rows);
            }
            else if (kind == typeof(LessonRecord) && rows.Of(kind).Count > 0)
            {
                Run("ALTER TABLE syllabus.lesson_records DISABLE TRIGGER lesson_records_raise_learning");
                copy.Write(kind, rows.Of(kind));
                Run("ALTER TABLE syllabus.lesson_records ENABLE TRIGGER lesson_records_raise_learning");
            }
            else
            {
                copy.Write(kind, rows.Of(kind));
            }
        }
    }

    /// <summary>
    /// The triggers of lessons work a row at a time, twice for each change of it. What they would write is written at once instead,
    /// and the constraints on it stand as ever; nobody subscribes to a calendar or remembers a course yet. They are off in this transaction only.
    /// </summary>
    private void WriteLessons(ScaleRows rows)
    {
        var lessons = rows.Of(typeof(Lesson));
        if (lessons.Count == 0)
        {
            return;
        }

        Run("ALTER TABLE diary.lessons DISABLE TRIGGER lessons_occupy, DISABLE TRIGGER lessons_raise_day_versions, DISABLE TRIGGER lessons_raise_feeds, DISABLE TRIGGER lessons_add_learning");
        copy.Write(typeof(Lesson), lessons);
        Run("ALTER TABLE diary.lessons ENABLE TRIGGER lessons_occupy, ENABLE TRIGGER lessons_raise_day_versions, ENABLE TRIGGER lessons_raise_feeds, ENABLE TRIGGER lessons_add_learning");
        using (var writer = connection.BeginBinaryImport("COPY diary.occupied (entry_id, kind, instructor_id, car_id, pupil_id, during) FROM STDIN (FORMAT binary)"))
        {
            writer.Timeout = TimeSpan.Zero;
            foreach (var lesson in lessons.Cast<Lesson>().Where(lesson => lesson.State is not LessonState.Cancelled).OrderBy(lesson => lesson.Id))
            {
                writer.StartRow();
                writer.Write(lesson.Id);
                writer.Write("lesson");
                writer.Write(lesson.InstructorId);
                writer.Write(lesson.CarId);
                writer.Write(lesson.PupilId);
                writer.Write(lesson.During, "tstzrange");
            }

            writer.Complete();
        }

        Count(rows.Days);
    }

    private void Count(DayCounts days)
    {
        var all = days.All.OrderBy(count => count.Day).ThenBy(count => count.Subject).ToList();
        using var count = new NpgsqlCommand(
            """
            INSERT INTO diary.day_versions (day, subject, version) SELECT * FROM unnest($1, $2, $3)
            ON CONFLICT (day, subject) DO UPDATE SET version = day_versions.version + excluded.version
            """,
            connection)
        {
            Parameters =
            {
                new() { Value = all.ConvertAll(one => one.Day).ToArray() }, new() { Value = all.ConvertAll(one => one.Subject).ToArray() },
                new() { Value = all.ConvertAll(one => (long)one.Changes).ToArray() },
            },
            CommandTimeout = 0,
        };
        count.ExecuteNonQuery();
    }

    private void Run(string sql)
    {
        using var command = new NpgsqlCommand(sql, connection);
        command.ExecuteNonQuery();
    }
}
