using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>A test day to enter or change. Gearbox defaults to the pupil's, the minutes around it to the school's.</summary>
internal sealed record TestDayRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Instant Start, PlaceInput? Centre, [property: Nation] string? Nation,
    [property: AtMost(TestDay.LongestReference)] string? Reference = null,
    Gearbox? Gearbox = null, Guid? InstructorId = null, Guid? CarId = null, bool OwnCar = false,
    [property: Between(0, TestDay.MostAround)] int? LeadMinutes = null, [property: Between(0, TestDay.MostAround)] int? TailMinutes = null,
    bool EndsAtPickUp = false, bool InsuredForTest = false)
{
    /// <summary>For a test that has been taken already: such a one is entered together with its result.</summary>
    public TestResultRequest? Result { get; init; }
}

/// <summary>Faults under one heading of the marking sheet.</summary>
internal sealed record HeadingMarksBody(
    [property: JsonRequired, Heading] string Heading, [property: Between(0, TestResultReading.Most)] int Driving = 0,
    [property: Between(0, TestResultReading.Most)] int Serious = 0, [property: Between(0, TestResultReading.Most)] int Dangerous = 0);

/// <summary>How a test ended. The faults by heading may be left out; where they come, they add up to the three sums.</summary>
internal sealed record TestResultRequest(
    [property: JsonRequired] bool Passed, [property: JsonRequired, Between(0, TestResultReading.Most)] int Driving,
    [property: JsonRequired, Between(0, TestResultReading.Most)] int Serious, [property: JsonRequired, Between(0, TestResultReading.Most)] int Dangerous,
    [property: Items(0, TestResultReading.Most)] IReadOnlyList<HeadingMarksBody>? Faults = null, [property: Between(0, TestResultReading.Most)] int EtaVerbal = 0,
    [property: Between(0, TestResultReading.Most)] int EtaPhysical = 0, [property: AtMost(TestDay.LongestNote)] string? Note = null, bool AgainstRule = false);

/// <summary>A result that was checked.</summary>
internal sealed record TestResult(bool Passed, TestMarks Sum, IReadOnlyList<TestDayMarks> Marks, int EtaVerbal, int EtaPhysical, string Note);

internal static class TestResultReading
{
    /// <summary>Of faults of one kind, and of headings.</summary>
    public const int Most = 99;

    /// <summary>The result, or what is wrong with it. One that goes against the pass rule is asked about first.</summary>
    public static Outcome<TestResult> Read(this TestResultRequest request, string prefix = "")
    {
        var (errors, sum) = (new FieldErrors(), new TestMarks(request.Driving, request.Serious, request.Dangerous));
        foreach (var (field, count) in new[]
        {
            (nameof(request.Driving), request.Driving), (nameof(request.Serious), request.Serious), (nameof(request.Dangerous), request.Dangerous),
            (nameof(request.EtaVerbal), request.EtaVerbal), (nameof(request.EtaPhysical), request.EtaPhysical),
        })
        {
            errors.When(count is < 0 or > Most, prefix + field, $"A number from 0 to {Most}.");
        }

        var marks = ReadMarks(errors, prefix + nameof(request.Faults), request.Faults ?? []);
        var added = marks.Aggregate(default(TestMarks), (all, one) => all + one.Count());
        errors.When(!errors.Any && marks.Count > 0 && added != sum, prefix + nameof(request.Faults),
            $"The headings add up to {Words(added)}, and above stands {Words(sum)}. Put right which of them is wrong.");
        var note = errors.ReadLines(prefix + nameof(request.Note), request.Note, TestDay.LongestNote);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (sum.Pass != request.Passed && !request.AgainstRule)
        {
            var says = sum.Pass
                ? $"With {Words(sum)} the test is passed by the rule (at most {PracticalTest.MostDrivingFaults} driving faults, none serious or dangerous), and you chose failed."
                : $"With {Words(sum)} the test is failed by the rule (at most {PracticalTest.MostDrivingFaults} driving faults, none serious or dangerous), and you chose passed.";
            return Refusal.Rule("result_against_rule", $"{says} Look at the numbers; if they are as the examiner gave them, say so and save again.");
        }

        return new TestResult(request.Passed, sum, marks, request.EtaVerbal, request.EtaPhysical, note);
    }

    public static string Words(TestMarks sum) =>
        $"{Diary.Words.Count(sum.Driving, "driving fault")}, {sum.Serious} serious and {sum.Dangerous} dangerous";

    private static List<TestDayMarks> ReadMarks(FieldErrors errors, string field, IReadOnlyList<HeadingMarksBody> faults)
    {
        foreach (var fault in faults)
        {
            errors.When(TestHeadings.Find(fault.Heading ?? "") is null, field, $"There is no heading “{CleanText.Line(fault.Heading)}” on the marking sheet.");
            errors.When(
                fault.Driving is < 0 or > Most || fault.Serious is < 0 or > Most || fault.Dangerous is < 0 or > Most, field, $"Each number is from 0 to {Most}.");
            errors.When(
                fault.Heading == TestHeadings.SafetyQuestions && fault.Driving > TestHeadings.MostForSafetyQuestions, field,
                "The safety questions (vehicle checks) make one driving fault at most, also when both were answered wrongly.");
        }

        errors.When(faults.Count > Most, field, $"Name at most {Most} headings.");
        errors.When(faults.Select(f => f.Heading).Distinct().Count() < faults.Count, field, "Name each heading once.");
        return [.. faults.Where(f => f.Driving + f.Serious + f.Dangerous > 0).Select(f => new TestDayMarks
        {
            Heading = f.Heading,
            Driving = f.Driving,
            Serious = f.Serious,
            Dangerous = f.Dangerous,
        })];
    }
}
