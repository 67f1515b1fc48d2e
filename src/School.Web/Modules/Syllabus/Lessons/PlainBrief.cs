using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>The brief in the pupil's words, on screen and by mail.</summary>
internal static class PlainBrief
{
    /// <summary>The licence is asked for by the school before anybody drives; shoes are common practice, no source.</summary>
    public const string Bring = "Bring your provisional licence, and glasses or lenses if you need them to read a number plate. Wear shoes with thin, flat soles.";

    public const string Decides = "What you will do is for you and your instructor to decide on the day.";

    public static Letter Letter(LessonBrief brief, string address)
    {
        var (school, lesson) = (brief.School, brief.Lesson);
        List<(string, string)> facts = [("When", brief.When), ("With", brief.Instructor.Name), ("Pick-up", LessonBrief.Where(lesson.PickUp))];
        if (lesson.DropOff != lesson.PickUp)
        {
            facts.Add(("Drop-off", LessonBrief.Where(lesson.DropOff)));
        }

        if (brief.Asked?.Record is { Aim.Length: > 0 } asked)
        {
            facts.Add(("Agreed aim", asked.Aim));
        }

        var skills = brief.ForPupil.Where(planned => planned.Skill.Plain.Count > 0).Select(planned => $"{planned.Skill.Name}: {string.Join(' ', planned.Skill.Plain)}");
        return new(
            $"Tomorrow’s lesson: {school.Time(lesson.StartsAt)}, {lesson.PickUp.Label}", $"Hello {brief.Pupil.Name},",
            "This is what tomorrow’s lesson may be about, so that you can think about it beforehand.", facts, [.. skills, Decides, Bring, $"You find this at {address}."], school.Name);
    }
}
