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
    bool EndsAtPickUp = false, bool InsuredForTest = false,
    bool Extended = false, [property: Between(SaveTestDaySettings.ShortestTest, SaveTestDaySettings.LongestTest)] int? Minutes = null)
{
    /// <summary>For a test that has been taken already: such a one is entered together with its result.</summary>
    public TestResultRequest? Result { get; init; }
}

/// <summary>Faults under one heading of the marking sheet.</summary>
internal sealed record HeadingMarksBody(
    [property: JsonRequired, Heading] string Heading, [property: Between(0, TestResultReading.Most)] int Driving = 0,
    [property: Between(0, TestResultReading.Most)] int Serious = 0, [property: Between(0, TestResultReading.Most)] int Dangerous = 0);

/// <summary>How a test ended. <c>passed</c> and the three sums are needed of a completed test; one that was stopped may have faults, others have none.
/// The faults by heading may be left out; where they come, they add up to the three sums.</summary>
internal sealed record TestResultRequest(
    bool? Passed = null, [property: Between(0, TestResultReading.Most)] int? Driving = null,
    [property: Between(0, TestResultReading.Most)] int? Serious = null, [property: Between(0, TestResultReading.Most)] int? Dangerous = null,
    [property: Items(0, TestResultReading.Most)] IReadOnlyList<HeadingMarksBody>? Faults = null, [property: Between(0, TestResultReading.Most)] int EtaVerbal = 0,
    [property: Between(0, TestResultReading.Most)] int EtaPhysical = 0, [property: AtMost(TestDay.LongestNote)] string? Note = null, bool AgainstRule = false,
    TestEnding Ending = TestEnding.Completed);

/// <summary>A result that was checked.</summary>
internal sealed record TestResult(TestEnding Ending, bool Passed, TestMarks Sum, IReadOnlyList<TestDayMarks> Marks, int EtaVerbal, int EtaPhysical, string Note);

internal static class TestResultReading
{
    /// <summary>Of faults of one kind, and of headings.</summary>
    public const int Most = 99;

    /// <summary>The result, or what is wrong with it. One that goes against the pass rule is asked about first.</summary>
    public static Outcome<TestResult> Read(this TestResultRequest request, string prefix = "")
    {
        var (completed, held) = (request.Ending is TestEnding.Completed, request.Ending is TestEnding.Completed or TestEnding.Stopped);
        var sum = new TestMarks(request.Driving ?? 0, request.Serious ?? 0, request.Dangerous ?? 0);
        var errors = new FieldErrors()
            .When(!Enum.IsDefined(request.Ending), prefix + nameof(request.Ending), "Say how the test ended.")
            .When(completed && request.Passed is null, prefix + nameof(request.Passed), "Say whether the test was passed.")
            .When(!completed && request.Passed == true, prefix + nameof(request.Passed), "A test that did not come to its end is not passed.")
            .When(completed && request.Driving is null, prefix + nameof(request.Driving), "Enter the number of driving faults, 0 where there were none.")
            .When(completed && request.Serious is null, prefix + nameof(request.Serious), "Enter the number of serious faults, 0 where there were none.")
            .When(completed && request.Dangerous is null, prefix + nameof(request.Dangerous), "Enter the number of dangerous faults, 0 where there were none.")
            .When(
                !held && (sum != default || request.Faults?.Count > 0), prefix + nameof(request.Faults),
                "Nothing was driven, so there are no faults. Leave them out, or choose another ending.");
        foreach (var (field, count) in new[]
        {
            (nameof(request.Driving), sum.Driving), (nameof(request.Serious), sum.Serious), (nameof(request.Dangerous), sum.Dangerous),
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

        if (completed && sum.Pass != request.Passed && !request.AgainstRule)
        {
            var says = sum.Pass
                ? $"With {Words(sum)} the test is passed by the rule (at most {PracticalTest.MostDrivingFaults} driving faults, none serious or dangerous), and you chose failed."
                : $"With {Words(sum)} the test is failed by the rule (at most {PracticalTest.MostDrivingFaults} driving faults, none serious or dangerous), and you chose passed.";
            return Refusal.Rule("result_against_rule", $"{says} Look at the numbers; if they are as the examiner gave them, say so and save again.");
        }

        return new TestResult(request.Ending, request.Passed == true, sum, marks, request.EtaVerbal, request.EtaPhysical, note);
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
                fault.Heading == TestHeadings.Eyesight && fault.Driving + fault.Serious + fault.Dangerous > 0, field,
                "Eyesight is passed or failed, never a fault: choose eyesight failed as the ending.");
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
