using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Syllabus.Contracts;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Modules.Syllabus.Overview;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Modules.Syllabus.Progress;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Modules.Syllabus.Shipped;
using School.Web.Platform.Database;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Syllabus;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class SyllabusModule
{
    private const string EveryFiveMinutes = "0 */5 * * * *";

    public static IServiceCollection AddSyllabus(this IServiceCollection services)
    {
        services.AddScoped<IModuleDefaults, SyllabusDefaults>();
        services.AddSingleton(new LetterKind(LessonMessages.Brief, "EXISTS (SELECT FROM diary.lessons l WHERE l.id = m.about_id)"));
        services.AddSingleton<EditionMemory>();
        services.AddScoped<SyllabusBook>();
        services.AddScoped<LearningReader>();
        services.AddSingleton<CourseMemory>();
        services.AddScoped<CourseReader>();
        services.AddScoped<LessonPlanner>();
        services.AddScoped<RecordReader>();
        services.AddScoped<RecordRules>();
        services.AddScoped<MotorwayCheck>();
        services.AddScoped<RecordHistory>();
        services.AddScoped<RecordLesson>();
        services.AddScoped<ReflectOnLesson>();
        services.AddScoped<BriefReader>();
        services.AddScoped<IModuleDefaults, BriefDefaults>();
        services.AddScoped<BriefSettingsBook>();
        services.AddScoped<ChangeBriefSettings>();
        services.AddScoped<EveningBriefs>();
        services.AddSingleton<ILetterWording, BriefWording>();
        services.AddRecurringJob<EveningBriefs>(EveningBriefs.Job, EveryFiveMinutes, job => job.RunAsync(CancellationToken.None));
        services.AddScoped<ChangeSyllabus>();
        services.AddScoped<ChangeSettings>();
        services.AddScoped<OldTexts>();
        services.AddScoped<ShippedComparison>();
        services.AddScoped<ProgressReader>();
        services.AddScoped<PracticeBook>();
        services.AddScoped<PracticeRules>();
        services.AddScoped<AddPractice>();
        services.AddScoped<ChangePractice>();
        services.AddScoped<RemovePractice>();
        services.AddScoped<ReadinessReader>();
        services.AddScoped<ReadinessBacktest>();
        services.AddScoped<ForecastBook>();
        services.AddScoped<ShareForecast>();
        services.AddScoped<WithdrawForecast>();
        services.AddScoped<DeviceRule>();
        services.AddScoped<MockTestEdit>();
        services.AddScoped<AddMockTest>();
        services.AddScoped<ReplaceMockTest>();
        services.AddScoped<TapMockTest>();
        services.AddScoped<DiscardMockTest>();
        services.AddScoped<MockBook>();
        services.AddScoped<InstructorLearningReader>();
        return services;
    }

    public static void MapSyllabus(this IEndpointRouteBuilder app)
    {
        app.MapLessonRecords();
        app.MapLessonBriefs();
        app.MapSyllabusEditing();
        app.MapOldTexts();
        app.MapShippedTexts();
        app.MapProgress();
        app.MapPractice();
        app.MapReadiness();
        app.MapMockTests();
        app.MapInstructorLearning();
    }
}
