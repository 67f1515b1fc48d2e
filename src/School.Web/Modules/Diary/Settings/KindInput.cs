using Microsoft.AspNetCore.Mvc;
using School.Core;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Settings;

/// <summary>What the school says about one kind of lesson, as a form or the API sends it. No lengths, or those of the booking rules, mean that it follows these.</summary>
internal sealed record KindInput
{
    public required LessonKind Kind { get; init; }

    [Needed, AtMost(KindRule.LongestName)]
    public required string Name { get; init; }

    [ModelBinder(typeof(MinutesListBinder)), Items(0, KindRule.MostLengths), Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)]
    public required IReadOnlyList<int> Minutes { get; init; }

    public required bool PupilsBook { get; init; }

    public required bool PupilsSee { get; init; }

    public required bool Offered { get; init; }

    public static KindInput Of(KindRule rule) => new()
    {
        Kind = rule.Kind,
        Name = rule.Name,
        Minutes = rule.Minutes,
        PupilsBook = rule.PupilsBook,
        PupilsSee = rule.PupilsSee,
        Offered = rule.Offered,
    };

    public KindRule ToRule() => new(Kind, (Name ?? "").Trim(), Minutes ?? [], PupilsBook, PupilsSee, Offered);
}

/// <summary>All kinds of lesson that are to change; the others stay as they are.</summary>
/// <param name="Items">The kinds, each once.</param>
/// <param name="LessonsAheadStay">Whether a kind may be taken off the list although lessons of it are booked: they stay what they are.</param>
internal sealed record KindsRequest([property: Items(1, 7)] IReadOnlyList<KindInput> Items, bool LessonsAheadStay = false);
