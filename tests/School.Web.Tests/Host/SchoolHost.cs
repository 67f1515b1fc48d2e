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
using School.Web.Modules.People.SignIn;
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

    /// <summary>The owner's, for tests that lay hands on the database themselves.</summary>
    public string ConnectionString => _connection;

    /// <summary>As the service reaches it: with the rights of the service and no more.</summary>
    public string ServiceConnectionString => ServiceOverride ?? _postgres.AsService(_connection);

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

    /// <summary>With services of the test's own beside the usual ones.</summary>
    public static async Task<SchoolHost> StartWithAsync(TestPostgres postgres, Action<IServiceCollection> also)
    {
        var plain = await StartAsync(postgres);
        return new SchoolHost(postgres, plain.ConnectionString) { Also = also };
    }

    /// <summary>On a database of the test's own, migrated first; its clock is the wall clock's, for tests that start real nodes on it.</summary>
    /// <param name="postgres">The server of the test run.</param>
    /// <param name="connectionString">The owner's.</param>
    /// <param name="service">The service's, where the database is on another server.</param>
    public static async Task<SchoolHost> OnAsync(TestPostgres postgres, string connectionString, string? service = null)
    {
        var host = new SchoolHost(postgres, connectionString) { ClockOverride = Wall(), Migrates = true, ServiceOverride = service };
        await Task.Run(() => host.Services);
        return host;
    }

    /// <summary>A second node on the same database with the same clock.</summary>
    public SchoolHost SecondNode() => new(_postgres, _connection) { ClockOverride = Clock, Settings = Settings };

    private Action<IServiceCollection> Also { get; init; } = _ => { };

    private IClock? ClockOverride { get; init; }

    private string? ServiceOverride { get; init; }

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
        var who = Proven.Of(person);
        var issued = await scope.ServiceProvider.GetRequiredService<IssueToken>().RunAsync(who.Viewer, new(who.Stamp), CancellationToken.None);
        return issued.Value!.Token;
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
        foreach (var used in (string[])[_connection, ServiceConnectionString])
        {
            await using var connection = new NpgsqlConnection(used);
            NpgsqlConnection.ClearPool(connection);
        }

        GC.SuppressFinalize(this);
    }

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("ConnectionStrings:School", ServiceConnectionString);
        builder.UseSetting("ConnectionStrings:SchoolOwner", _connection);
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
        builder.ConfigureTestServices(services =>
        {
            services.AddSingleton<IClock>(ClockOverride ?? Clock);
            Also(services);
        });
    }

#pragma warning disable RS0030 // Real nodes live by the wall clock.
    private static SystemClock Wall() => SystemClock.Instance;
#pragma warning restore RS0030
}
