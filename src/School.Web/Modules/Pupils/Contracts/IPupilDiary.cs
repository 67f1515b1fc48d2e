using NodaTime;
using School.Core.Cars;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A lesson as the page about its pupil shows it, with its state in words.</summary>
internal sealed record PupilLessonCard(Guid Id, Instant StartsAt, Instant EndsAt, string State, string Note);

/// <summary>A test day as the page about its pupil shows it.</summary>
/// <param name="Id">The test day.</param>
/// <param name="StartsAt">When the test begins.</param>
/// <param name="Centre">Where.</param>
/// <param name="State">How it stands, in words.</param>
/// <param name="Passed">How it ended; null while it has no result.</param>
/// <param name="IsTakenOff">Whether it was taken off the diary.</param>
internal sealed record PupilTestCard(Guid Id, Instant StartsAt, string Centre, string State, bool? Passed, bool IsTakenOff, Gearbox Gearbox = Gearbox.Manual)
{
    /// <summary>Whether a pass of it allows driving a car of a gearbox alone.</summary>
    public bool Allows(Gearbox gearbox) => Passed == true && !IsTakenOff && (Gearbox == Gearbox.Manual || gearbox == Gearbox.Automatic);
}

/// <summary>What the diary knows of a pupil; the diary fills it.</summary>
internal interface IPupilDiary
{
    /// <summary>The next few lessons and the last few, in the order of the calendar.</summary>
    Task<IReadOnlyList<PupilLessonCard>> LessonsAsync(Guid pupilId, int eachWay, Viewer viewer, CancellationToken cancel);

    /// <summary>Whether a course can be planned by the viewer: the school gives intensive lessons.</summary>
    Task<bool> GivesCoursesAsync(Viewer viewer, CancellationToken cancel);

    /// <summary>What Navigate opens for a place, by the school's setting; null where it is to be found.</summary>
    Task<string?> NavigateAsync(Place place, CancellationToken cancel);

    /// <summary>When the next lesson begins of those of some pupils who have one.</summary>
    Task<IReadOnlyDictionary<Guid, Instant>> NextAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel);

    /// <summary>All test days, latest first.</summary>
    Task<IReadOnlyList<PupilTestCard>> TestsAsync(Guid pupilId, CancellationToken cancel);

    /// <summary>Those with whom an instructor has, or had, a lesson or a test that begins within a time, to be asked within another question.</summary>
    /// <param name="instructorId">The instructor.</param>
    /// <param name="within">When it begins.</param>
    /// <param name="butBy">Leaves out what nobody but this person put into the instructor's diary.</param>
    IQueryable<Guid> Taught(Guid instructorId, Interval within, Guid? butBy = null);

    /// <summary>The pupil of a lesson, or of one that an instructor gives, to be asked within another question.</summary>
    IQueryable<Guid> PupilOf(Guid lessonId, Guid? givenBy);

    /// <summary>Those of some pupils who have passed a test.</summary>
    Task<IReadOnlySet<Guid>> PassedAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel);
}
