using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Diary;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Kinds of lesson in words, and who may book them.</summary>
internal static class KindWords
{
    /// <summary>What the school calls it; null for a lesson like any other, of which nothing is said.</summary>
    public static string? NameOf(this DiaryRules rules, LessonKind kind) => kind == LessonKind.Standard ? null : rules.KindOf(kind).Name;

    /// <summary>The same in the middle of a sentence; an abbreviation stays as it is.</summary>
    public static string? Lower(string? name) => name is not [_, var second, ..] || !char.IsLower(second) ? name : char.ToLowerInvariant(name[0]) + name[1..];

    /// <summary>As it stands in an address: nothing for a lesson like any other.</summary>
    public static string Query(LessonKind? kind) => kind is null or LessonKind.Standard ? "" : $"&kind={QueryWord.Of(kind.Value)}";

    /// <summary>The same on pages that begin at a usual kind of the pupil's: a lesson like any other is named where it is not that one.</summary>
    public static string Query(LessonKind? kind, LessonKind usual) =>
        kind is LessonKind.Standard && usual != LessonKind.Standard ? $"&kind={QueryWord.Of(LessonKind.Standard)}" : Query(kind);

    /// <summary>What booking begins at: a refresher for who holds a full licence for the car they learn in. Of somebody known by name alone it says nothing.</summary>
    public static LessonKind UsualFor(PupilCard pupil, LocalDate today, DiaryRules rules, Viewer viewer) =>
        !pupil.NameOnly && Licence.On(pupil.Licence, today, pupil.Gearbox, pupil.BirthDate) is LicenceStanding.Holder && rules.KindOf(LessonKind.Refresher).NotFor(viewer) is null
            ? LessonKind.Refresher
            : LessonKind.Standard;

    /// <summary>Why somebody cannot book it; null when they can.</summary>
    public static Refusal? NotFor(this KindRule rule, Viewer viewer) =>
        !rule.Offered || (!viewer.IsStaff && !rule.PupilsSee) ? Refusal.Rule("kind_not_offered", "The school does not give this kind of lesson. Choose another kind.")
        : rule.MayBook(byPupil: !viewer.IsStaff) ? null
        : Refusal.Rule("kind_booked_by_school", "This kind of lesson is booked by the school. Ask your instructor or the office.");

    /// <summary>
    /// The length that a form asked for, unless it was the one shown beside another kind and is not on offer of this one: then the usual one.
    /// </summary>
    /// <param name="rule">The kind that is chosen.</param>
    /// <param name="rules">The school's rules.</param>
    /// <param name="beside">The kind that the form showed; null where it was no form.</param>
    /// <param name="asked">The length that was sent.</param>
    /// <param name="pupils">The pupil's usual length.</param>
    public static int Length(this KindRule rule, DiaryRules rules, LessonKind? beside, int? asked, int pupils) =>
        asked is { } minutes && (beside is null || beside == rule.Kind || rules.LengthsOf(rule.Kind).Contains(minutes)) ? minutes : rule.Usual(pupils);

    /// <summary>The kinds that somebody may book, to choose from; and the one that it is, which may stay.</summary>
    public static IReadOnlyList<SelectListItem> Choices(DiaryRules rules, Viewer viewer, LessonKind? present = null) =>
        [.. Enum.GetValues<LessonKind>().Select(rules.KindOf).Where(rule => rule.Kind == present || rule.NotFor(viewer) is null).Select(rule => new SelectListItem(rule.Name, rule.Kind.ToString()))];

    /// <summary>What the school gives besides and books itself, as pupils are told of it.</summary>
    public static IReadOnlyList<string> BookedBySchool(DiaryRules rules) =>
        [.. Enum.GetValues<LessonKind>().Select(rules.KindOf).Where(rule => rule is { Offered: true, PupilsSee: true, PupilsBook: false }).Select(rule => rule.Name)];
}
