using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Core.Diary.Slots;
using School.Core.Travel;

namespace School.Core.Tests.Diary.Cover;

public sealed class CoverTests
{
    private static readonly StraightLineTravel Travel = new(new StraightLineSettings());

    [Fact]
    public void A_proposal_costs_what_the_plain_model_proves_to_be_the_least()
    {
        var (proven, moved, uncovered) = (0, 0, 0);
        Parallel.For(0, 200, new ParallelOptions { MaxDegreeOfParallelism = 2 }, seed =>
        {
            var problem = RandomCover.Make(seed, lessons: 1 + seed % 4, colleagues: 1 + seed % 3, hoursMoved: seed % 3);
            if (problem.Lessons.Count == 0)
            {
                return;
            }

            var proposal = CoverSearch.Propose(problem, Travel);
            var (cost, isProven) = new CoverModel(problem, Travel).Solve(workers: 1, seconds: 60);
            Assert.True(isProven, $"The model was not solved in time for seed {seed}.");
            Assert.True(proposal.IsProven);
            Assert.True(cost == proposal.Cost, $"Seed {seed}: {proposal.Cost} instead of {cost}.");
            Interlocked.Increment(ref proven);
            Interlocked.Add(ref moved, cost.Moved);
            Interlocked.Add(ref uncovered, cost.Uncovered);
        });
        // The cases are worth something only if they ask for each kind of decision.
        Assert.True(proven >= 180 && moved >= 20 && uncovered >= 20, $"{proven} cases, {moved} moved, {uncovered} uncovered.");
    }

    [Fact]
    public void A_proposal_carried_out_breaks_no_rule_and_costs_what_it_says()
    {
        var covered = 0;
        for (var seed = 1000; seed < 1400; seed++)
        {
            var problem = RandomCover.Make(seed, lessons: 8, colleagues: 6, hoursMoved: seed % 3);
            var proposal = CoverSearch.Propose(problem, Travel);
            var after = CarriedOut(problem, proposal);
            foreach (var (lesson, line) in problem.Lessons.Zip(proposal.Lines))
            {
                Assert.Equal(lesson.Id, line.LessonId);
                if (line.Place is not { } place)
                {
                    continue;
                }

                covered++;
                var diary = after.Instructors.Single(diary => diary.Instructor.Id == place.InstructorId);
                var pupils = problem.Lessons.Select(other => other.Pupil).DistinctBy(pupil => pupil.Id).ToDictionary(pupil => pupil.Id, pupil => pupil with
                {
                    Lessons = [.. pupil.Lessons.Select(own => own with { During = After(own.Id, own.During, problem, proposal) })],
                });
                Assert.DoesNotContain(DiaryAudit.Find(after, diary, Travel, pupils), impossible => impossible.LessonId == lesson.Id);
                Assert.True(place.Start == lesson.During.Start || lesson.Windows.Any(window =>
                    window.Start <= place.Start && place.Start + lesson.During.Duration <= window.End));
            }
            Assert.Equal(proposal.Lines.Count(line => line.Place is null), proposal.Cost.Uncovered);
            Assert.Equal(proposal.Lines.Zip(problem.Lessons).Count(pair => pair.First.Place is { } place && place.Start != pair.Second.During.Start), proposal.Cost.Moved);
            Assert.Equal(proposal.Lines.Zip(problem.Lessons).Count(pair => pair.First.Place is { } place && place.InstructorId != pair.Second.InstructorId), proposal.Cost.Changed);
        }
        Assert.True(covered > 500, $"Only {covered} lessons were covered.");
    }

    [Fact]
    public void A_lesson_that_nobody_takes_says_why_for_each_instructor()
    {
        for (var seed = 1000; seed < 1100; seed++)
        {
            var problem = RandomCover.Make(seed, lessons: 8, colleagues: 4, hoursMoved: 0);
            foreach (var line in CoverSearch.Propose(problem, Travel).Lines.Where(line => line.Place is null))
            {
                Assert.Equal(problem.Picture.Instructors.Select(diary => diary.Instructor.Id), line.WhyNot.Select(obstacle => obstacle.InstructorId));
            }
        }
    }

    [Fact]
    public void A_search_given_up_answers_with_a_bound_that_does_not_pass_the_least()
    {
        using var stop = new CancellationTokenSource();
        stop.Cancel();
        for (var seed = 1000; seed < 1050; seed++)
        {
            var problem = RandomCover.Make(seed, lessons: 8, colleagues: 6, hoursMoved: 2);
            var proposal = CoverSearch.Propose(problem, Travel, giveUp: stop.Token);
            Assert.All(proposal.Lines, line => Assert.Null(line.Place));
            Assert.Equal(problem.Lessons.Count, proposal.Cost.Uncovered);
            Assert.True(proposal.Bound <= CoverSearch.Propose(problem, Travel).Cost);
        }
    }

    [Fact]
    public void A_lesson_goes_to_a_colleague_at_its_own_time_before_it_is_moved()
    {
        var problem = OneLesson(colleagueIsBusyAtTen: false, windows: [Larkfield.During(9, 0, 480)]);
        var line = Assert.Single(CoverSearch.Propose(problem, Larkfield.OneRoad).Lines);
        Assert.Equal(new CoverPlace(Colleague, Larkfield.At(10), ColleaguesCar), line.Place);
    }

    [Fact]
    public void A_lesson_is_moved_to_the_nearest_time_at_which_its_pupil_can_come()
    {
        var problem = OneLesson(colleagueIsBusyAtTen: true, windows: [Larkfield.During(9, 0, 480)]);
        var proposal = CoverSearch.Propose(problem, Larkfield.OneRoad);
        // Two hours of work until 11:05, a rest of 15 minutes, the next start on the grid.
        Assert.Equal(Larkfield.At(11, 30), Assert.Single(proposal.Lines).Place!.Start);
        Assert.Equal(new CoverCost(0, 1, 90, 1, 0), proposal.Cost);
    }

    [Fact]
    public void A_lesson_whose_pupil_gave_no_other_times_is_not_moved()
    {
        var problem = OneLesson(colleagueIsBusyAtTen: true, windows: []);
        var line = Assert.Single(CoverSearch.Propose(problem, Larkfield.OneRoad).Lines);
        Assert.Null(line.Place);
        Assert.Equal([SlotRule.TimeOff, SlotRule.InstructorBusy], line.WhyNot.Select(obstacle => obstacle.Refusal.Rule));
    }

    [Fact]
    public void Nobody_to_cover_leaves_every_lesson_uncovered()
    {
        var problem = OneLesson(colleagueIsBusyAtTen: false, windows: []);
        var proposal = CoverSearch.Propose(problem with { Picture = problem.Picture with { Instructors = [] } }, Larkfield.OneRoad);
        Assert.Equal(1, proposal.Cost.Uncovered);
        Assert.True(proposal.IsProven);
    }

    private static readonly Guid Colleague = new("00000000-0000-0000-0000-0000000000a2");
    private static readonly Guid ColleaguesCar = new("00000000-0000-0000-0000-0000000000c2");

    private static CoverProblem OneLesson(bool colleagueIsBusyAtTen, Interval[] windows)
    {
        var lesson = Larkfield.Lesson(10, 0, 60);
        var ill = Larkfield.DiaryWith(lesson) with { TimeOff = [Larkfield.During(0, 0, 1440)] };
        var own = colleagueIsBusyAtTen ? new[] { Larkfield.Lesson(9, 0, 60), Larkfield.Lesson(10, 5, 60) } : [];
        var colleague = Larkfield.DiaryWith([.. own.Select(entry => entry with { CarId = ColleaguesCar })]) with
        {
            Instructor = Larkfield.Instructor with { Id = Colleague },
            Holds = [new CarHold(ColleaguesCar, Colleague, new Interval(null, null))],
        };
        var pupil = Larkfield.Pupil with { Lessons = [new(lesson.Id, lesson.During)] };
        var picture = Larkfield.Picture(ill) with
        {
            Instructors = [ill, colleague],
            Cars = [Larkfield.Car, Larkfield.Car with { Id = ColleaguesCar }],
        };
        return new(picture, [new(lesson.Id, Larkfield.InstructorId, pupil, lesson.During, Larkfield.Place(0), Larkfield.Place(0), windows)]);
    }

    private static Interval After(Guid lessonId, Interval booked, CoverProblem problem, CoverProposal proposal) =>
        proposal.Lines.FirstOrDefault(line => line.LessonId == lessonId)?.Place is { } place ? new(place.Start, place.Start + booked.Duration)
        : problem.Lessons.Any(lesson => lesson.Id == lessonId) ? new(booked.Start, booked.Start)
        : booked;

    private static DiaryPicture CarriedOut(CoverProblem problem, CoverProposal proposal)
    {
        var ids = problem.Lessons.Select(lesson => lesson.Id).ToHashSet();
        var taken = problem.Lessons.Zip(proposal.Lines).Where(pair => pair.Second.Place is not null).Select(pair => (
            pair.Second.Place!.InstructorId,
            Entry: new DiaryEntry(
                pair.First.Id, EntryKind.Lesson, After(pair.First.Id, pair.First.During, problem, proposal), pair.First.Pupil.Id,
                pair.Second.Place.CarId, pair.First.PickUp, pair.First.DropOff)
            {
                Breaks = pair.First.Breaks,
                LessonKind = pair.First.Kind,
            })).ToList();
        return problem.Picture with
        {
            Instructors = [.. problem.Picture.Instructors.Select(diary => diary with
            {
                Entries = [.. diary.Entries.Where(entry => !ids.Contains(entry.Id)), .. taken.Where(t => t.InstructorId == diary.Instructor.Id).Select(t => t.Entry)],
            })],
            CarBusy = [.. problem.Picture.CarBusy.Where(busy => !ids.Contains(busy.LessonId)), .. taken.Select(t => new CarBusy(t.Entry.CarId!.Value, t.Entry.Id, t.Entry.During))],
        };
    }
}
