using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class AccountsModule
{
    public static IServiceCollection AddAccounts(this IServiceCollection services)
    {
        services.AddScoped<BookShelf>();
        services.AddScoped<Ledger>();
        services.AddScoped<FeeRules>();
        services.AddScoped<LessonPricing>();
        services.AddScoped<MoneyGround>();
        services.AddScoped<ILessonCharges, LessonAccounts>();
        services.AddScoped<ILessonPrices, LessonPrices>();
        services.AddScoped<IPupilMoney, PupilMoney>();
        services.AddScoped<AccountReader>();
        services.AddScoped<StatementReader>();
        services.AddScoped<TermsBook>();
        services.AddScoped<MoneyDay>();
        services.AddScoped<TrialBalance>();
        services.AddScoped<OpenBooks>();
        services.AddScoped<AddPrice>();
        services.AddScoped<ChangeFees>();
        services.AddScoped<SellBlock>();
        services.AddScoped<GiveBackBlock>();
        services.AddScoped<AccountLetters>();
        services.AddSingleton<ILetterWording, AccountWording>();
        foreach (var kind in AccountLetters.All)
        {
            services.AddSingleton(kind);
        }

        services.AddScoped<TakePayment>();
        services.AddScoped<TellDue>();
        services.AddScoped<WriteOff>();
        services.AddScoped<WaiveFee>();
        services.AddScoped<HandInCash>();
        services.AddScoped<WriteTerms>();
        services.AddScoped<AcceptTerms>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("account", "the account", "/accounts/"));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("books", "the books", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("price", "the price list", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("fees", "what late lessons cost", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("terms", "the terms", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("cash", "the cash", null));
        foreach (var invariant in AccountInvariants.All)
        {
            services.AddSingleton(invariant);
        }

        return services;
    }

    public static void MapAccounts(this IEndpointRouteBuilder app)
    {
        app.MapBookEndpoints();
        app.MapAccountEndpoints();
        app.MapTermsEndpoints();
    }
}
