using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>Which two lessons change places, and those of them whose pupil agreed by phone already.</summary>
internal sealed record SwapRequest(
    [property: JsonRequired] Guid LessonId, [property: JsonRequired] Guid WithLessonId, [property: Items(0, SwapRequest.Lessons)] IReadOnlyList<Guid>? Agreed = null)
{
    public const int Lessons = 2;

    [JsonIgnore]
    public Guid[] Both => [LessonId, WithLessonId];

    public Guid Other(Guid lessonId) => lessonId == LessonId ? WithLessonId : LessonId;
}

/// <summary>Whose answer staff note; a pupil answers for themself.</summary>
internal sealed record SwapAnswerRequest(Guid? LessonId = null);

/// <summary>Why a swap came to nothing.</summary>
internal enum SwapEnd
{
    /// <summary>A pupil said no.</summary>
    Declined,

    /// <summary>Not both had answered in time.</summary>
    Lapsed,

    /// <summary>The school dropped it.</summary>
    Dropped,

    /// <summary>The diary has changed, and it does not fit any more.</summary>
    NoLongerFits,
}

/// <summary>A lesson as it was booked when the swap was proposed, and the end that the other place would give it.</summary>
internal sealed record SwapBefore(Guid LessonId, Guid PupilId, Guid InstructorId, Instant Start, Instant End, Guid ToInstructorId, Instant ToStart, Instant ToEnd)
{
    [JsonIgnore]
    public Interval During => new(Start, End);

    // Of one that could not be, kept by an earlier release, the end may lie before the start.
    [JsonIgnore]
    public Interval To => new(ToStart, Instant.Max(ToStart, ToEnd));

    public bool Stands(Lesson lesson) => lesson.State is LessonState.Booked && lesson.During == During && lesson.InstructorId == InstructorId;
}

/// <summary>What a swap tells beside its lines.</summary>
internal sealed record SwapMore(IReadOnlyList<SwapBefore> Before, SwapEnd? Ended = null)
{
    public SwapBefore Of(Guid lessonId) => Before.Single(one => one.LessonId == lessonId);
}

/// <summary>For how long a swap may be answered.</summary>
internal static class SwapTimes
{
    /// <summary>A day is time enough to see a letter, and others wait for the answer: common practice, no source.</summary>
    public static readonly Duration Longest = Duration.FromHours(24);

    /// <summary>So long before the first of both lessons everybody has to know where to be: common practice, no source.</summary>
    public static readonly Duration Before = Duration.FromHours(2);

    /// <summary>Until when the pupils may answer; where both have agreed, until when it may be carried out.</summary>
    public static Instant Lapse(Instant now, Instant firstLesson, bool bothAgreed) =>
        Instant.Min(now + Longest, bothAgreed ? firstLesson : firstLesson - Before);
}

internal static class SwapRefusals
{
    public static readonly Refusal SameLesson = Refusal.Rule("swap_same_lesson", "A lesson changes places with another one. Choose a second lesson.");

    public static readonly Refusal SamePupil = Refusal.Rule("swap_same_pupil", "Both are lessons of the same pupil. Move one of them instead.");

    public static readonly Refusal Begun = Refusal.Rule("lesson_begun", "One of these lessons has begun, so it stays where it is.");

    public static readonly Refusal TooLate = Refusal.Rule(
        "too_late_to_ask", $"The first of the two begins within {(int)SwapTimes.Before.TotalHours} hours, too soon to ask by letter. Ring both pupils, and note that they agree.");

    public static readonly Refusal Lapsed = Refusal.Conflict(
        "swap_lapsed", new("The time to answer has run out, so nothing was moved. Ask again.", "The time to answer has run out. Your lesson stays as it is."));

    public static readonly Refusal Off = Refusal.Conflict("swap_off", new("This swap is off: both lessons stay as they are.", "This swap is off. Your lesson stays as it is."));

    public static readonly Refusal Done = Refusal.Conflict("swap_done", new("The lessons were swapped already.", "The swap was carried out already. Your lessons tell the new time."));

    public static readonly Refusal Answered = Refusal.Conflict(
        "swap_answered", new("That this pupil agrees is noted already.", "You have said yes already. You hear as soon as it is settled; until then your lesson stays as it is."));

    public static readonly Refusal Whole = Refusal.Rule("swap_is_whole", "A swap is carried out whole: name both lines or none.");

    public static readonly Refusal Overlap = Refusal.Conflict(
        "swap_overlaps", "The two lessons are of different length and would overlap in each other’s place. Move one of them instead.");

    public static readonly Refusal Changed = Refusal.Conflict("lesson_changed", new(
        "This lesson has been changed since the swap was proposed. Propose it again.", "This lesson has been changed since you were asked."));

    public static readonly Refusal OtherStays = Refusal.Rule("swap_other_stays", new(
        "It stays because the other lesson cannot take its place.", "The other lesson can no longer change places with yours."));

    public static Refusal Open(Guid swap) => Refusal.Conflict("swap_open", "One of these lessons is in a swap that is not settled yet. Settle or drop that first.").CuredOn(Page(swap));

    public static string Page(Guid swap) => $"/diary/swaps/{swap}";
}
