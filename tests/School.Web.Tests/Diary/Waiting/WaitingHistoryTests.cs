using CsCheck;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Waiting;

/// <summary>
/// Random histories of joining, leaving, booking, cancelling, waiting and answering, run through the verbs on a real database and
/// through a model that keeps only who waits and who has which time. After every step both must agree.
/// </summary>
public sealed class WaitingHistoryTests(TestPostgres postgres)
{
    private const int Pupils = 5;
    private const int Histories = 12;
    private const int Steps = 40;

    private static readonly Instant[] Times = [London(2026, 3, 5, 10), London(2026, 3, 5, 14), London(2026, 3, 6, 11)];

    [Fact]
    public async Task Whatever_happens_the_diary_and_the_list_agree_with_the_model()
    {
        var histories = new List<(int Act, int Who, int Time)[]>();
        Gen.Select(Gen.Int[0, 6], Gen.Int[0, Pupils - 1], Gen.Int[0, Times.Length - 1]).Array[Steps]
            .Sample(history => { lock (histories) { histories.Add(history); } }, iter: Histories, threads: 1);
        foreach (var history in histories)
        {
            await RunAsync(history);
        }
    }

    private async Task RunAsync((int Act, int Who, int Time)[] history)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupils = new List<Guid>();
        for (var n = 0; n < Pupils; n++)
        {
            pupils.Add((await host.Data.PupilAsync($"Pupil {n}")).Id);
        }

        var (waits, has) = (new HashSet<Guid>(), new Dictionary<Instant, Guid>());
        foreach (var (act, who, time) in history)
        {
            var (pupil, start) = (pupils[who], Times[time]);
            await using var scope = host.Services.CreateAsyncScope();
            T Verb<T>() where T : notnull => scope.ServiceProvider.GetRequiredService<T>();
            switch (act)
            {
                case 0:
                    var joined = await Verb<JoinWaitingList>().RunAsync(Viewer.Service, new(pupil, WaitingFor.AnyLesson, null, new(2026, 3, 2), new(2026, 3, 8)), default);
                    Assert.Equal(waits.Add(pupil), joined.Ok);
                    break;
                case 1:
                    var entry = await host.WithDbAsync(db => db.Set<WaitingEntry>().SingleOrDefaultAsync(w => w.PupilId == pupil && w.State == WaitingState.Waiting));
                    Assert.Equal(waits.Contains(pupil), entry is not null);
                    if (entry is not null)
                    {
                        Assert.True((await Verb<LeaveWaitingList>().RunAsync(Viewer.Service, entry.Id, default)).Ok);
                        waits.Remove(pupil);
                    }

                    break;
                case 2:
                    var booked = await Verb<BookLesson>().RunAsync(Viewer.Service, new(pupil, instructor.Id, start, 60), default);
                    Assert.Equal(!has.ContainsKey(start), booked.Ok);
                    has.TryAdd(start, pupil);
                    break;
                case 3:
                    var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleOrDefaultAsync(l => l.StartsAt == start && l.State == LessonState.Booked));
                    Assert.Equal(has.ContainsKey(start), lesson is not null);
                    if (lesson is not null)
                    {
                        Assert.True((await Verb<CancelLesson>().RunAsync(Viewer.Service, lesson.Id, new(CancelReason.Pupil), null, default)).Ok);
                        has.Remove(start);
                    }

                    break;
                case 4:
                    host.Clock.AdvanceMinutes(25);
                    await Verb<OfferFreedSlots>().RunAsync(default);
                    break;
                default:
                    var now = host.Clock.GetCurrentInstant();
                    var offer = await host.WithDbAsync(db => db.Set<OfferedSlot>().AsNoTracking().Where(o => o.PupilId == pupil)
                        .OrderBy(o => o.State == OfferState.Open ? 0 : 1).ThenBy(o => o.StartsAt).ThenBy(o => o.Id).FirstOrDefaultAsync());
                    if (offer is null)
                    {
                        break;
                    }

                    var may = offer.State == OfferState.Open && offer.HeldUntil > now && waits.Contains(pupil) && !has.ContainsKey(offer.StartsAt);
                    var accepted = await Verb<AcceptOffer>().RunAsync(offer.Id, default);
                    Assert.True(may == accepted.Ok, $"{accepted.Refusal?.Code} for {offer.State}");
                    if (accepted.Ok)
                    {
                        waits.Remove(pupil);
                        has.Add(offer.StartsAt, pupil);
                    }

                    break;
            }

            await AgreesAsync(host, waits, has);
        }
    }

    private static async Task AgreesAsync(SchoolHost host, HashSet<Guid> waits, Dictionary<Instant, Guid> has)
    {
        var waiting = await host.WithDbAsync(db => db.Set<WaitingEntry>().Where(w => w.State == WaitingState.Waiting).Select(w => w.PupilId).ToListAsync());
        Assert.Equal(waits.Order(), waiting.Order());
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.State == LessonState.Booked).Select(l => new { l.StartsAt, l.PupilId }).ToListAsync());
        Assert.Equal(has.OrderBy(p => p.Key).Select(p => (p.Key, p.Value)), lessons.OrderBy(l => l.StartsAt).Select(l => (l.StartsAt, l.PupilId)));
        var offers = await host.WithDbAsync(db => db.Set<OfferedSlot>().AsNoTracking().ToListAsync());
        Assert.All(offers.GroupBy(o => o.FreedId), of => Assert.InRange(of.Count(o => o.State == OfferState.Accepted), 0, 1));
        Assert.All(offers.GroupBy(o => o.FreedId), of => Assert.InRange(of.Count(o => o.State == OfferState.Open), 0, 3));
        Assert.All(offers.Where(o => o.State == OfferState.Open), o => Assert.Contains(o.PupilId, waits));
    }
}
