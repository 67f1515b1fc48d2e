using System.Globalization;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Api;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>A pupil's record as a table: a row for every lesson, one below it for every level given, and one for every drive between lessons.</summary>
internal static class ProgressCsv
{
    private static readonly string[] Heading =
    [
        "Date", "What", "Minutes", "Minutes taught so far", "With", "Recorded by", "Skill", "Level", "Sentence", "Aim", "Reflection",
        "Roads and conditions", "Miles", "Edition",
    ];

    public static string Of(PupilProgress progress)
    {
        var minutes = 0;
        var rows = new List<(LocalDate On, string[][] Cells)>();
        foreach (var lesson in progress.Lessons)
        {
            minutes += lesson.MinutesTaught;
            var (on, soFar, edition) = (Day(lesson.On), Number(minutes), lesson.Edition is { } number ? Number(number) : "");
            var roads = lesson.Route is { } route ? route.Words() : "";
            rows.Add((lesson.On,
            [
                [on, "lesson", Number(lesson.MinutesTaught), soFar, lesson.Instructor, lesson.RecordedBy ?? "", "", "", lesson.Note, lesson.Aim, lesson.Reflection, roads, Miles(lesson.Miles), edition],
                .. lesson.Levels.Select(given => new[]
                {
                    on, "level", "", soFar, lesson.Instructor, lesson.RecordedBy ?? "", given.Name, given.Level.ToString(), "", "", "", "", "", edition,
                }),
            ]));
        }

        rows.AddRange(progress.Practice.Select(drive => (drive.On, new string[][]
        {
            [Day(drive.On), "private practice", Number(drive.Minutes), "", drive.Supervisor, drive.LoggedBy, "", "", "", "", "", PracticeWords.Of(drive.Conditions), "", ""],
        })));
        return Csv.Write(rows.OrderBy(row => row.On).SelectMany(row => row.Cells).Prepend(Heading));
    }

    private static string Day(LocalDate date) => LocalDatePattern.Iso.Format(date);

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);

    private static string Miles(decimal? miles) => miles?.ToString("0.#", CultureInfo.InvariantCulture) ?? "";
}
