using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>What the letters about one lesson are made of.</summary>
internal sealed record LetterFacts(Lesson Lesson, PupilCard Pupil, InstructorCard Instructor, SchoolFacts School, ChargeTerms Charges, Instant Now)
{
    public string? KindName { get; init; }

    public Act Open => new(LessonFact.Open, $"/diary/lessons/{Lesson.Id}");

    /// <summary>The lesson's time, who and where, then what is told besides.</summary>
    public List<Fact> With(params Fact[] more)
    {
        List<Fact> facts = [Fact.Of(LessonFact.Lesson, Lesson.During), .. Common()];
        return [.. facts, .. Lesson.Rests().Select(rest => Fact.Of(LessonFact.Break, rest)), .. more];
    }

    /// <summary>What is the same in every lesson of a series.</summary>
    public IEnumerable<Fact> Common()
    {
        yield return Fact.Of(LessonFact.Pupil, Pupil.Name);
        yield return Fact.Of(LessonFact.Instructor, Instructor.Name);
        if (Instructor.Phone.Length > 0)
        {
            yield return Fact.Of(LessonFact.InstructorPhone, Instructor.Phone);
        }

        if (KindName is { } kind)
        {
            yield return Fact.Of(LessonFact.Kind, kind);
        }

        yield return Fact.Of(LessonFact.PickUp, Where(Lesson.PickUp));
        if (Lesson.DropOff != Lesson.PickUp)
        {
            yield return Fact.Of(LessonFact.DropOff, Where(Lesson.DropOff));
        }

        foreach (var need in Pupil.BeforeDriving.Names())
        {
            yield return Fact.Of(LessonFact.BeforeDriving, need);
        }

        yield return Fact.Of(LessonFact.FreeHours, Charges.FreeHours);
    }

    /// <summary>What was decided about the charge, as code and facts; nothing where nothing was to decide.</summary>
    public Fact[] Charge() => Lesson.Charge is not { } charge ? [] :
    [
        Fact.Of(LessonFact.Charge, charge.Code.ToString()) with { Number = charge.Chargeable ? 1 : 0 }, Fact.Of(LessonFact.ChargeAct, charge.Act.ToString()),
        Fact.Of(LessonFact.ChargeStart, charge.Start), Fact.Of(LessonFact.ChargeFreeUntil, charge.FreeUntil), Fact.Of(LessonFact.ChargedAt, charge.At),
        .. Lesson.AsksNothing() ? [Fact.Of(LessonFact.NothingAsked, 1)] : Array.Empty<Fact>(),
    ];

    private static string Where(Place place) => string.Join(", ", new[] { place.Label, place.Address, place.Postcode }.Where(part => part.Length > 0).Distinct());
}
