var app = WebApplication.CreateBuilder(args).Build();
app.MapGet("/", () => "x");
app.Run();
