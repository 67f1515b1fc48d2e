using School.Web.Modules.Diary.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Covers;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Diary.Weekly;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Jobs;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class DiaryModule
{
    public static IServiceCollection AddDiary(this IServiceCollection services)
    {
        services.Configure<PageRooms>(rooms => rooms.Add("Diary", "Day", "Hours", "Search", "Settings"));
        services.AddScoped<IModuleDefaults, DiaryDefaults>();
        services.AddDiaryInvariants();
        services.AddScoped<LessonBook>();
        services.AddScoped<LessonCars>();
        services.AddScoped<LessonRecording>();
        services.AddScoped<PictureLoader>();
        services.AddSingleton<SearchMemory>();
        services.AddScoped<StandingSchools>();
        services.AddScoped<PreparedDiaries>();
        services.AddSingleton(new ProblemMember(SlotRefusals.AlternativesMember, typeof(IReadOnlyList<SlotItem>), "The nearest free times, with 409 and 422 about a time."));
        services.AddSingleton(new ProblemMember(TestDayClashes.InTheWayMember, typeof(IReadOnlyList<ClashItem>), "What stands at the time kept for a test, with 409 time_taken."));
        services.AddScoped<SlotFinder>();
        services.AddScoped<SlotPlaces>();
        services.AddScoped<LessonList>();
        services.AddScoped<LessonLocks>();
        services.AddScoped<LessonGrounds>();
        services.AddScoped<LessonHistory>();
        services.AddScoped<LessonMail>();
        services.AddScoped<IHeedSent, RemindersSent>();
        services.AddSingleton<ILetterWording, LessonWording>();
        services.AddSingleton<ILetterWording, WeeklyWording>();
        services.AddSingleton<ILetterWording, ListWording>();
        services.AddScoped<DayReader>();
        services.AddScoped<DriveTaps>();
        services.AddScoped<PupilNotesReader>();
        services.AddScoped<BookLesson>();
        services.AddScoped<MoveLesson>();
        services.AddScoped<TellLate>();
        services.AddScoped<FindOrder>();
        services.AddScoped<OrderDay>();
        services.AddScoped<CancelLesson>();
        services.AddScoped<ChangeLessons>();
        services.AddScoped<TellCharge>();
        services.AddScoped<MissLesson>();
        services.AddWeekly();
        services.AddWaiting();
        services.AddSingleton<JudgedWeeks>();
        services.AddScoped<DiaryCheck>();
        services.AddScoped<INeedAttention, ImpossibleLessons>();
        services.AddScoped<INeedAttention, UnrecordedLessons>();
        services.AddScoped<INeedAttention, TestsToHeed>();
        services.AddScoped<IKeepAhead, DiaryAhead>();
        services.AddScoped<IPupilDiary, PupilDiary>();
        services.AddScoped<CarsNeeded>();
        services.AddScoped<GiveOutCars>();
        services.AddScoped<HoursEdit>();
        services.AddScoped<AddHours>();
        services.AddScoped<ChangeHours>();
        services.AddScoped<RemoveHours>();
        services.AddScoped<AddTimeOff>();
        services.AddScoped<ChangeTimeOff>();
        services.AddScoped<RemoveTimeOff>();
        services.AddScoped<SaveDiarySettings>();
        services.AddScoped<SaveLessonKinds>();
        services.AddScoped<AddHoliday>();
        services.AddScoped<RemoveHoliday>();
        services.AddScoped<PupilLessons>();
        services.AddScoped<WaysOut>();
        services.AddScoped<FreeTimes>();
        services.AddScoped<IModuleDefaults, TestDayDefaults>();
        services.AddScoped<TestBook>();
        services.AddScoped<TestDayAccess>();
        services.AddScoped<TestDayDates>();
        services.AddScoped<TestDayClashes>();
        services.AddScoped<TestDayHistory>();
        services.AddScoped<TestDayWarnings>();
        services.AddScoped<TestDayMail>();
        services.AddSingleton<ILetterWording, TestDayWording>();
        services.AddScoped<TestDayReader>();
        services.AddScoped<TestDayRules>();
        services.AddScoped<EnterTestDay>();
        services.AddScoped<ChangeTestDay>();
        services.AddScoped<TakeOffTestDay>();
        services.AddScoped<RecordTestResult>();
        services.AddScoped<SaveTestDaySettings>();
        services.AddScoped<TestDayForms>();
        services.AddSingleton(provider => provider.GetRequiredService<IConfiguration>().GetSection(CoverLimits.Section).Get<CoverLimits>() ?? new());
        services.AddScoped<CoverReader>();
        services.AddScoped<PlanCover>();
        services.AddScoped<UncoveredLessons>();
        services.AddScoped<ProposalRules, CoverRules>();
        services.AddScoped<ProposalRules, OrderRules>();
        services.AddScoped<ProposalRules, AllocationRules>();
        services.AddProposals();
        return services;
    }

    public static void MapDiary(this IEndpointRouteBuilder app)
    {
        app.MapSlots();
        app.MapLessons();
        app.MapWeekly();
        app.MapWaiting();
        app.MapDayRoute();
        app.MapRunningLate();
        app.MapBetterOrder();
        app.MapWorkingHours();
        app.MapTimeOff();
        app.MapDiarySettings();
        app.MapLessonKinds();
        app.MapHolidays();
        app.MapAllocations();
        app.MapTestDays();
        app.MapCovers();
    }
}
