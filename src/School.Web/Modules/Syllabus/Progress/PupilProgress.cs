using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Practice;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>A level as it was given, and where.</summary>
/// <param name="NameThen">What the skill was called in the edition of the record.</param>
internal sealed record LevelMove(Guid LessonId, SkillMove Move, string Instructor, string NameThen)
{
    public LocalDate On => Move.On;

    public SkillLevel Level => Move.Level;

    public int MinutesTaught => Move.MinutesTaught;
}

/// <summary>A skill with all that a pupil did about it, earliest first.</summary>
/// <param name="Skill">As the newest edition has it, or as it stood last.</param>
/// <param name="Group">Null where it is no longer in the syllabus.</param>
/// <param name="Standing">Null where it was never marked.</param>
/// <param name="Stale">Started, and not touched by a lesson for longer than the school allows.</param>
internal sealed record SkillLine(Skill Skill, string? Group, SkillStanding? Standing, IReadOnlyList<LevelMove> Moves, bool Stale)
{
    public SkillLevel? Level => Standing?.Level;

    public LocalDate? LastOn => Standing?.LastOn;

    /// <summary>The level before the last change; null where it never changed.</summary>
    public SkillLevel? Before => Standing?.Before;

    public bool WentDown => Standing?.WentDown ?? false;
}

/// <summary>A level given in a lesson, with the skill's name of that time.</summary>
internal sealed record NamedLevel(string Key, string Name, SkillLevel Level);

/// <summary>A taught lesson as its record tells of it; what is for staff only stays out.</summary>
/// <param name="RecordedBy">Who wrote the record last; null where nobody wrote more than minutes and a sentence.</param>
internal sealed record RecordedLesson(
    Guid Id, LocalDate On, int MinutesTaught, string Instructor, string? RecordedBy, int? Edition, IReadOnlyList<NamedLevel> Levels,
    string Note, string Aim, RouteKind? Route, decimal? Miles, string Reflection);

/// <summary>How far a pupil has come, with whichever instructors.</summary>
/// <param name="Lines">Every skill of the newest edition, in its order.</param>
/// <param name="Retired">Skills of older editions that the pupil was taught, under their old names.</param>
internal sealed record PupilProgress(
    PupilCard Pupil, SyllabusEdition Edition, IReadOnlyList<SkillLine> Lines, IReadOnlyList<SkillLine> Retired,
    IReadOnlyList<RecordedLesson> Lessons, IReadOnlyList<PracticeCard> Practice, LocalDate Today)
{
    private const int MostToPractise = 5;

    public int MinutesTaught => Lessons.Sum(lesson => lesson.MinutesTaught);

    public int PracticeMinutes => Practice.Sum(drive => drive.Minutes);

    public int Started => Lines.Count(line => line.Moves.Count > 0);

    public int AtLeast(SkillLevel level) => Lines.Count(line => line.Level >= level);

    /// <summary>The last lesson that left words for the pupil.</summary>
    public RecordedLesson? LastWords => Lessons.LastOrDefault(lesson => lesson.Note.Length > 0 || lesson.Aim.Length > 0);

    /// <summary>Skills that are under way or not practised lately, as far as there is something to do about them at home.</summary>
    public IEnumerable<SkillLine> ToPractise =>
        Lines.Where(line => (line.Level < NextSkills.Stands || line.Stale) && line.Skill.Practise.Count > 0).Take(MostToPractise);

    /// <summary>Without the words of instructor and pupil, where they drove, and with whom the pupil practised.</summary>
    public PupilProgress ForThoseBeside() => this with
    {
        Lessons = [.. Lessons.Select(lesson => lesson with { RecordedBy = null, Note = "", Aim = "", Route = null, Miles = null, Reflection = "" })],
        Practice = [.. Practice.Select(drive => drive with { Conditions = [], Supervisor = "", Skills = [], LoggedBy = "" })],
    };

    public SkillLine? Find(string key) => Lines.Concat(Retired).FirstOrDefault(line => line.Skill.Key == key);
}
