using System.Buffers;
using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>Which times are wanted. Length and places default to the pupil's.</summary>
internal sealed record SlotQuestion(Guid PupilId, LocalDate From, LocalDate To, int? Minutes = null, Guid? InstructorId = null)
{
    public Place? PickUp { get; init; }

    public Place? DropOff { get; init; }

    /// <summary>What it is for.</summary>
    public LessonKind Kind { get; init; }

    /// <summary>In which gearbox, where that is still to be asked of the pupil.</summary>
    public Gearbox? Gearbox { get; init; }

    /// <summary>The booked lesson that the new time replaces.</summary>
    public Guid? MovingLessonId { get; init; }

    /// <summary>Another booked lesson that makes room for it at the same time; only a check of one start looks at it.</summary>
    public Guid? LeavingLessonId { get; init; }

    /// <summary>The car that the lesson keeps where it will do; only a check of one start looks at it.</summary>
    public Guid? OwnCarId { get; init; }

    /// <summary>The most offers wanted.</summary>
    public int Most { get; init; } = SlotFinder.MostOffers;

    /// <summary>Another time for a lesson: its length and places stay.</summary>
    public static SlotQuestion ToMove(Lesson lesson, LocalDate date) => new(lesson.PupilId, date, date, lesson.Minutes)
    {
        PickUp = lesson.PickUp,
        DropOff = lesson.DropOff,
        MovingLessonId = lesson.Id,
        Kind = lesson.Kind,
    };
}

/// <summary>Another time for a lesson that is tried.</summary>
internal sealed record TriedMove(SlotQuestion Question, PupilCard Pupil, Guid InstructorId, Instant Start);
