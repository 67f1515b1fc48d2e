using System.Collections.Concurrent;
using NodaTime;
using School.Web.Modules.Syllabus.Readiness;

namespace School.Web.Modules.Syllabus;

/// <summary>Remembers what pupils did, by version; one in a process. Nothing here is trusted before its version was read anew.</summary>
internal sealed class CourseMemory
{
    // About 10 kB each.
    private const int MostPupils = 3_000;

    private readonly ConcurrentDictionary<Guid, (long Version, DateTimeZone Zone, LearnedCourse Course)> _courses = new();
    private volatile FinishedPupils? _finished;

    public LearnedCourse? Find(Guid pupil, long version, DateTimeZone zone) =>
        _courses.TryGetValue(pupil, out var known) && known.Version == version && known.Zone.Equals(zone) ? known.Course : null;

    public void Keep(Guid pupil, long version, DateTimeZone zone, LearnedCourse course)
    {
        if (_courses.Count >= MostPupils)
        {
            _courses.Clear();
        }

        _courses[pupil] = (version, zone, course);
    }

    /// <summary>What was last made of all finished pupils together; whoever uses it compares of which courses it is.</summary>
    public FinishedPupils? Finished
    {
        get => _finished;
        set => _finished = value;
    }

    public void Forget()
    {
        _courses.Clear();
        _finished = null;
    }
}
