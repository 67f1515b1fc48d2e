using System.Net;
using System.Net.Http.Headers;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.AspNetCore.TestHost;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using NodaTime;
using NodaTime.Testing;
using Npgsql;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Platform.Database;

namespace School.Web.Tests.Host;

/// <summary>The whole service in this process on a fresh real database, with a clock that stands still until it is moved.</summary>
internal sealed class SchoolHost : WebApplicationFactory<Program>
{
    public const string Password = "larkfield lanes and bridges";
    private const string Template = "school_template";
    private readonly TestPostgres _postgres;
    private readonly string _connection;

    private SchoolHost(TestPostgres postgres, string connection)
    {
        _postgres = postgres;
        _connection = connection;
        Data = new TestData(this);
    }

    /// <summary>Monday 2 March 2026, 08:00 in London.</summary>
    public FakeClock Clock { get; } = new(Instant.FromUtc(2026, 3, 2, 8, 0));

    public static DateTimeZone London { get; } = DateTimeZoneProviders.Tzdb["Europe/London"];

    public string ConnectionString => _connection;

    /// <summary>Today, for tests that start real nodes.</summary>
    public static LocalDate WallDate => Wall().GetCurrentInstant().InZone(London).Date;

    /// <summary>Makes instructors, cars, pupils and people to sign in as.</summary>
    public TestData Data { get; }

    /// <summary>Settings of this host that differ from the usual ones.</summary>
    public IReadOnlyList<(string Key, string Value)> Settings { get; private init; } = [];

    public static async Task<SchoolHost> StartAsync(TestPostgres postgres, bool wallClock = false, params (string Key, string Value)[] settings)
    {
        await postgres.PrepareTemplateAsync(Template, async connection =>
        {
            await using var maker = new SchoolHost(postgres, connection) { Migrates = true };
            _ = maker.Services;
        });
        return new SchoolHost(postgres, await postgres.CreateDatabaseAsync(Template)) { ClockOverride = wallClock ? Wall() : null, Settings = settings };
    }

    /// <summary>On a database of the test's own, migrated first; its clock is the wall clock's, for tests that start real nodes on it.</summary>
    public static async Task<SchoolHost> OnAsync(TestPostgres postgres, string connectionString)
    {
        var host = new SchoolHost(postgres, connectionString) { ClockOverride = Wall(), Migrates = true };
        await Task.Run(() => host.Services);
        return host;
    }

    /// <summary>A second node on the same database with the same clock.</summary>
    public SchoolHost SecondNode() => new(_postgres, _connection) { ClockOverride = Clock, Settings = Settings };

    private IClock? ClockOverride { get; init; }

    /// <summary>Brings the schema up to date when it starts, as the service does on its private database.</summary>
    private bool Migrates { get; init; }

    /// <summary>Cookies also over plain HTTP, for a browser on the loopback.</summary>
    private bool PlainHttp { get; set; }

    /// <summary>Runs something against the database in a scope of its own.</summary>
    public async Task<T> WithDbAsync<T>(Func<SchoolDb, Task<T>> work)
    {
        await using var scope = Services.CreateAsyncScope();
        return await work(scope.ServiceProvider.GetRequiredService<SchoolDb>());
    }

    public Task AddAsync(params object[] rows) => WithDbAsync(async db =>
    {
        db.AddRange(rows);
        return await db.SaveChangesAsync();
    });

    /// <summary>A bearer token of the API.</summary>
    public async Task<string> TokenAsync(Person person)
    {
        await using var scope = Services.CreateAsyncScope();
        return (await scope.ServiceProvider.GetRequiredService<ApiTokens>().IssueAsync(person, CancellationToken.None)).Token;
    }

    /// <summary>A client of the API, signed in with a token.</summary>
    public async Task<HttpClient> ApiAsAsync(Person person)
    {
        var token = await TokenAsync(person);
        var client = CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false });
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return client;
    }

    /// <summary>A browser, as far as cookies go: signed in through the sign-in page. Redirects are not followed.</summary>
    public async Task<HttpClient> PagesAsAsync(Person person)
    {
        var client = Browser();
        var answer = await client.PostFormAsync("/people/sign-in", ("Input.Email", person.Email!), ("Input.Password", Password));
        Assert.True(answer.StatusCode == HttpStatusCode.Redirect, await answer.Content.ReadAsStringAsync());
        return client;
    }

    /// <summary>A browser with its own cookies in which nobody is signed in.</summary>
    public HttpClient Browser() => CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false, HandleCookies = true });

    /// <summary>Listens on a free port of the loopback, for a browser; returns the address.</summary>
    public string Listen()
    {
        PlainHttp = true;
        UseKestrel(0);
        StartServer();
        return ClientOptions.BaseAddress.ToString().TrimEnd('/');
    }

    /// <summary>A client without cookies or tokens.</summary>
    public HttpClient Anonymous() => CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false });

    public override async ValueTask DisposeAsync()
    {
        await base.DisposeAsync();
        await using var connection = new NpgsqlConnection(_connection);
        NpgsqlConnection.ClearPool(connection);
        GC.SuppressFinalize(this);
    }

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("ConnectionStrings:School", _connection);
        builder.UseSetting("School:MigrateAtStart", Migrates ? "true" : "false");
        builder.UseSetting("School:PasswordIterations", "1000");
        builder.UseSetting("School:RunJobs", "false");
        builder.UseSetting("School:PublicUrl", "https://localhost");
        builder.UseSetting("School:StaffSecondStep", "offered");
        builder.UseSetting("School:PlainHttp", PlainHttp ? "true" : "false");
        foreach (var (key, value) in Settings)
        {
            builder.UseSetting(key, value);
        }

        builder.ConfigureLogging(logging => logging.ClearProviders().SetMinimumLevel(LogLevel.Warning).AddConsole());
        builder.ConfigureTestServices(services => services.AddSingleton<IClock>(ClockOverride ?? Clock));
    }

#pragma warning disable RS0030 // Real nodes live by the wall clock.
    private static SystemClock Wall() => SystemClock.Instance;
#pragma warning restore RS0030
}
