using System.Collections.Concurrent;
using Microsoft.Extensions.ObjectPool;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Search;

/// <summary>What the school is like apart from its lessons, at one version, and the days laid out for it so far.</summary>
internal sealed record StandingSchool(long Version, SchoolFacts School, LoadedPicture Loaded, SearchGround Ground)
{
    // About 3 kB each: a year of fifty instructors.
    private const int MostDays = 20_000;

    private readonly ConcurrentDictionary<(Guid InstructorId, LocalDate Date), (long Version, PreparedDay Day)> _days = new();

    // Ranges that are asked for again within the day: a week, four weeks, of each instructor and of all. References alone.
    private const int MostRanges = 500;

    private readonly ConcurrentDictionary<(LocalDate From, LocalDate To, Guid? Only), (long Versions, PreparedDay[] Days)> _ranges = new();

    /// <summary>The days between two dates as they were last put together, and the sum of the versions they were put together by.</summary>
    public (long Versions, PreparedDay[] Days)? Range(LocalDate from, LocalDate to, Guid? only) => _ranges.TryGetValue((from, to, only), out var known) ? known : null;

    public void KeepRange(LocalDate from, LocalDate to, Guid? only, long versions, PreparedDay[] days)
    {
        if (_ranges.Count >= MostRanges)
        {
            _ranges.Clear();
        }

        _ranges[(from, to, only)] = (versions, days);
    }

    /// <summary>Who holds which car when, of the cars that are in use.</summary>
    public IEnumerable<CarHold> Holds => Loaded.Picture.Instructors.SelectMany(diary => diary.Holds);

    public LocalDate DateOf(Instant at) => at.InZone(School.Zone).Date;

    public PreparedDay? Find(Guid instructorId, LocalDate date, long version) =>
        _days.TryGetValue((instructorId, date), out var known) && known.Version == version ? known.Day : null;

    public void Keep(PreparedDay day, long version)
    {
        if (_days.Count >= MostDays)
        {
            _days.Clear();
        }

        _days[(day.Instructor.Id, day.Date)] = (version, day);
    }
}

/// <summary>One date of an instructor with what a start of a pupil on it is judged by, as it was read under the locks of the open transaction.</summary>
internal sealed record JudgedDay(Guid PupilId, Guid InstructorId, LocalDate Date, LoadedPicture Loaded, PupilFacts Facts)
{
    /// <summary>As it is given to the rest of the transaction.</summary>
    public const string Name = "judged-day";

    public bool Answers(SlotQuestion question, Guid instructorId) =>
        question.PupilId == PupilId && question.From == Date && question.To == Date && instructorId == InstructorId;
}

/// <summary>Remembers laid-out days between searches; one in a process. Nothing here is trusted before its version was read anew.</summary>
internal sealed class SearchMemory
{
    // Bounds what a workspace needs, which grows with the places: 3 kB each.
    private const int MostPlaces = 8_000;

    private readonly ObjectPool<SlotWorkspace> _workspaces = new DefaultObjectPool<SlotWorkspace>(new DefaultPooledObjectPolicy<SlotWorkspace>());
    private volatile StandingSchool? _school;

    public StandingSchool? School
    {
        get => _school is { } school && school.Ground.Places < MostPlaces ? school : null;
        set => _school = value;
    }

    public T Search<T>(Func<SlotWorkspace, T> search)
    {
        var workspace = _workspaces.Get();
        try
        {
            return search(workspace);
        }
        finally
        {
            _workspaces.Return(workspace);
        }
    }
}
