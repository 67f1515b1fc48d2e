using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>The words of the letter the evening before: what the lesson may be about.</summary>
internal sealed class BriefWording : ILetterWording
{
    public const string Lesson = "lesson";
    public const string Instructor = "instructor";
    public const string Place = "place";
    public const string PickUp = "pick_up";
    public const string DropOff = "drop_off";
    public const string Aim = "aim";
    public const string Kind = "kind";
    public const string Break = "break";

    /// <summary>What is seen and asked before the wheels turn; the name of each.</summary>
    public const string BeforeDriving = "before_driving";

    /// <summary>What the syllabus says of a skill to the pupil, name first.</summary>
    public const string Skill = "skill";

    /// <summary>Code of the act that opens the brief.</summary>
    public const string Open = "open_brief";

    public IReadOnlyCollection<string> Kinds { get; } = [LessonMessages.Brief];

    public static IReadOnlyList<Fact> FactsOf(LessonBrief brief)
    {
        var lesson = brief.Lesson;
        List<Fact> facts =
        [
            Fact.Of(Lesson, lesson.During), Fact.Of(Instructor, brief.Instructor.Name), Fact.Of(Place, lesson.PickUp.Label), Fact.Of(PickUp, LessonBrief.Where(lesson.PickUp)),
        ];
        if (lesson.DropOff != lesson.PickUp)
        {
            facts.Add(Fact.Of(DropOff, LessonBrief.Where(lesson.DropOff)));
        }

        if (brief.KindName is { } kind)
        {
            facts.Add(Fact.Of(Kind, kind));
        }

        facts.AddRange(lesson.Rests().Select(rest => Fact.Of(Break, rest)));
        if (brief.Asked?.Record is { Aim.Length: > 0 } asked)
        {
            facts.Add(Fact.Of(Aim, asked.Aim));
        }

        facts.AddRange(brief.Cautions.BeforeDriving.Names().Select(need => Fact.Of(BeforeDriving, need)));
        facts.AddRange(brief.ForPupil.Where(planned => planned.Skill.Plain.Count > 0)
            .Select(planned => Fact.Of(Skill, $"{planned.Skill.Name}: {string.Join(' ', planned.Skill.Plain)}")));
        return facts;
    }

    public LetterWords Of(LetterReading letter)
    {
        var during = letter.Time(Lesson);
        var start = during.Start.InZone(letter.School.Zone);
        List<(string, string)> lines =
        [
            ("When", letter.School.When(during)),
            ("With", letter.Text(Instructor)), ("Pick-up", letter.Text(PickUp)),
        ];
        if (letter.Has(Kind))
        {
            lines.Insert(1, ("What", letter.Text(Kind)));
        }

        if (letter.Has(Break))
        {
            lines.Add(("Breaks", letter.School.Rests(letter.Times(Break))));
        }

        if (letter.Has(DropOff))
        {
            lines.Add(("Drop-off", letter.Text(DropOff)));
        }

        if (letter.Has(Aim))
        {
            lines.Add(("Agreed aim", letter.Text(Aim)));
        }

        return new(
            $"Tomorrow’s lesson: {ScreenWords.Time(start.TimeOfDay, letter.School.TwelveHourClock)}, {letter.Text(Place)}",
            $"{(letter.Has(BeforeDriving) && !letter.IsCopy ? $"{FirstLessonNeedsWords.Read(letter.All(BeforeDriving).Select(fact => fact.Text ?? "")).SeenFirst()?.ToPupil} " : "")}This is what tomorrow’s lesson may be about, so that you can think about it beforehand.",
            lines,
            [.. letter.All(Skill).Select(skill => skill.Text!), PlainBrief.Decides, letter.Edition < 3 ? PlainBrief.BringProvisional : PlainBrief.Bring],
            letter.Links(act => act == Open ? "Your brief" : null));
    }
}
