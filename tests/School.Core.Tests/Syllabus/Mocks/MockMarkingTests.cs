using CsCheck;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;

namespace School.Core.Tests.Syllabus.Mocks;

/// <summary>
/// The published rule, readytopass.campaign.gov.uk/driving-test (pages on marking, and on what happens during the test), read
/// 25 November 2026: at most 15 driving faults, none serious or dangerous; one or both safety questions wrong is one driving fault.
/// </summary>
public sealed class MockMarkingTests
{
    private static readonly Gen<MockFault> AnyFault = Gen.Select(
        Gen.Int[0, TestHeadings.All.Count - 1], Gen.Enum<FaultKind>(), (heading, kind) => new MockFault(TestHeadings.All[heading].Code, kind));

    [Theory]
    [InlineData(0, 0, 0, true)]
    [InlineData(15, 0, 0, true)]
    [InlineData(16, 0, 0, false)]
    [InlineData(0, 1, 0, false)]
    [InlineData(0, 0, 1, false)]
    [InlineData(15, 1, 0, false)]
    public void A_mock_test_is_passed_by_the_published_rule(int driving, int serious, int dangerous, bool passed)
    {
        var faults = Times(driving, FaultKind.Driving).Concat(Times(serious, FaultKind.Serious)).Concat(Times(dangerous, FaultKind.Dangerous)).ToList();
        Assert.Equal(new TestMarks(driving, serious, dangerous), MockMarking.Sum(faults));
        Assert.Equal(passed, MockMarking.Sum(faults).Pass);
    }

    [Fact]
    public void Both_safety_questions_wrong_cost_one_driving_fault()
    {
        var wrong = new MockFault(TestHeadings.SafetyQuestions, FaultKind.Driving);
        Assert.Equal(new(1, 0, 0), MockMarking.Sum([wrong]));
        Assert.Equal(new(1, 0, 0), MockMarking.Sum([wrong, wrong]));
        // 15 in all is still a pass: fourteen elsewhere and both questions.
        Assert.True(MockMarking.Sum([wrong, wrong, .. Times(14, FaultKind.Driving)]).Pass);
        Assert.False(MockMarking.Sum([wrong, wrong, .. Times(15, FaultKind.Driving)]).Pass);
    }

    [Fact]
    public void A_question_answered_in_a_way_that_endangers_is_a_serious_fault_beside_the_one() =>
        Assert.Equal(
            new(1, 1, 0),
            MockMarking.Sum([new(TestHeadings.SafetyQuestions, FaultKind.Driving), new(TestHeadings.SafetyQuestions, FaultKind.Serious)]));

    [Fact]
    public void Faults_stand_by_heading_in_the_order_of_the_sheet()
    {
        MockFault[] faults = [new("21-observation", FaultKind.Serious), new("13-safety", FaultKind.Driving), new("21-observation", FaultKind.Driving)];
        Assert.Equal(
            [new HeadingMarks("13-safety", new(1, 0, 0)), new HeadingMarks("21-observation", new(1, 1, 0))],
            MockMarking.ByHeading(faults));
    }

    [Fact]
    public void A_heading_that_is_not_on_the_sheet_is_refused() =>
        Assert.Throws<ArgumentException>(() => MockMarking.ByHeading([new("28", FaultKind.Driving)]));

    [Fact]
    public void One_more_fault_never_turns_a_fail_into_a_pass() => Gen.Select(AnyFault.List[0, 30], AnyFault).Sample((faults, more) =>
    {
        var (before, after) = (MockMarking.Sum(faults), MockMarking.Sum([.. faults, more]));
        Assert.True(before.Pass || !after.Pass);
        Assert.Equal(MockMarking.ByHeading(faults).Aggregate(default(TestMarks), (sum, heading) => sum + heading.Marks), before);
    });

    // Order of the first seven: readytopass.campaign.gov.uk; the rest from memory.
    [Fact]
    public void The_headings_most_often_failed_come_in_their_published_order_each_once()
    {
        Assert.Equal(
            [
                "Junctions: observation", "Use of mirrors: change direction", "Move off: safety", "Junctions: turning right", "Control: steering",
                "Response to signs and signals: traffic lights", "Response to signs and signals: traffic signs",
            ],
            MockMarking.MostFailed.Take(7).Select(heading => heading.Words));
        Assert.Equal(10, MockMarking.MostFailed.Distinct().Count());
    }

    private static IEnumerable<MockFault> Times(int count, FaultKind kind) => Enumerable.Repeat(new MockFault("18", kind), count);
}
